"""What readings tell beyond the plan: a failed check spin, machine or wheel, trial runs, the tyre on its rim."""
