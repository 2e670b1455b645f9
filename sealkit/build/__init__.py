"""The build sheet: one engine, its fasteners, deck and gasket, as a text file with units.

A sheet is a TOML file of sections; a value with a unit stands in quotes (``bore = "86 mm"``).
`load` reads and checks it, `Build.vary` changes it, `Build.save` writes it. Every fault of a sheet
is told at once, one line each, by its dotted name (``fasteners.torque``). Inside a `Build` all
numbers are plain SI; angles in radians, crank speed in turns per second.

>>> four = demo("boosted-four")
>>> round(four.vary({"charge.boost": "22 psi"}).charge.boost)
151685
>>> four.vary({"charge.boost": 22})
Traceback (most recent call last):
sealkit.errors.InputError: charge.boost: got 22 without a unit; wanted a gauge pressure (above the \
air outside) from 0 bar to 10 bar, such as "18 psi"
"""

from sealkit.build.demos import demo, demos, edited, from_dict, load, loads, tree
from sealkit.build.evidence import Reading, half_widths, held, reading, readings, status_of
from sealkit.build.fields import Spec, fields
from sealkit.build.schema import json_schema
from sealkit.build.sections import SECTIONS, ShankPart
from sealkit.build.sheet import Build
from sealkit.build.values import readable, written
from sealkit.build.writing import row_values, template
