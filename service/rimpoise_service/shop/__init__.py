"""What the workshop needs around a plan: cautions, steps and reasons, in one wording."""
