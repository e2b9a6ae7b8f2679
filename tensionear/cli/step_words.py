"""The words that are typed for the steps of a job and its passes."""

from tensionear.job.passes import PassKind, Step

STEPS = {step.name.lower().replace("_", "-"): step for step in Step}
"""Every step by the word that is typed for it."""

PASSES = {kind.name.lower().replace("_", "-"): kind for kind in PassKind}
"""Every kind of pass by the word that is typed for it."""
