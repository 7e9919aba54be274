"""The groups that the document sorts operations into."""

from __future__ import annotations

PLAN = "fitting plan"
STEPS = "single steps"
SHOP = "shop"
SECOND_SPIN = "second spin"
MEASURING = "measuring"
SERVICE = "service"

TAGS = {
    PLAN: "From a reading to the weights to fit.",
    STEPS: "The steps of a plan, one by one.",
    SHOP: "What goes with the job: the invoice and the lists for the workshop.",
    SECOND_SPIN: "When the second spin still shows weight, or the wheel takes too much of it.",
    MEASURING: "Trial weights, checks of machine and centring, run-out, a shop's own spread, quality grades.",
    SERVICE: "About the service itself.",
}
"""Each with what it holds, in the document's order."""
