"""Scatter: many builds of one sheet at once, and the probability that a limit is passed.

What is varied (`usual`, or an `Input` of your own) stands in the `inputs` of a result, each with
source and status.
`run` studies a sheet, `study` any model; `leak_probability` is the line in the report.
"""

from sealkit.scatter.carrying import carried_over
from sealkit.scatter.compare import METHODS, by_method, compare_methods, sweep
from sealkit.scatter.distributions import (
    Distribution,
    Highest,
    LogNormal,
    Normal,
    Triangular,
    Uniform,
)
from sealkit.scatter.inputs import Input, one_cycle, usual
from sealkit.scatter.probability import Probability, any_of, probability_of
from sealkit.scatter.result import Scatter
from sealkit.scatter.room import Room, room
from sealkit.scatter.sheet import ANY, LeakProbability, judge_builds, leak_probability, run
from sealkit.scatter.study import Judged, Progress, study
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, LIQUID_LEAK
