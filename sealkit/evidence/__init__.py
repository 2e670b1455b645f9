"""Measurements on one engine: what they should read, what they tell of the build, what to do next.

A row of ``[[evidence.measured]]`` on the sheet is a reading. `gather` makes evidence of them, `fit`
moves what is not known of the build as far as it says, `what_next` ranks what would tell more.
"""

from sealkit.evidence.fitting import Fit, Misfit, fit
from sealkit.evidence.following import Next, what_next
from sealkit.evidence.predict import Evidence, Rows, evidence_of, gather
from sealkit.evidence.priors import Parameter, parameters
