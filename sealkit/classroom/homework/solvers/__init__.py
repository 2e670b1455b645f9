"""Answers and wrong routes of the job cards, each worked out by the public package.

A solver takes the numbers of one engine (plain SI) and hands back the answer, what each wrong
route gives, and the chart where one is to be read. Its name is that of the question in the card
set: `solvers.SOLVERS["02/preload"]`.
"""

from sealkit.classroom.homework.solvers import joint, workshop  # noqa: F401  they register here
from sealkit.classroom.homework.solvers.common import SOLVERS, Numbers, sane

__all__ = ["SOLVERS", "Numbers", "sane"]
