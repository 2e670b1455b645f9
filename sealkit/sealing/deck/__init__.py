"""The deck map: where on the deck the clamp goes, and where the gas opens the joint first.

The head is a plate of one effective thickness that bends and shears. A real head is a box of floor,
roof, walls and ports; its floor alone is far softer, the whole casting far stiffer than a plate of
the thickness written on the sheet. The effective thickness is therefore an argument that has to be
stated, and the first thing to vary. The block gives way in columns under the gasket, by kind of
deck (`block`).

    plate bending + gasket loads (closure, largest closure so far) = bolt forces - gas forces

Gasket. Every zone of the gasket is a one-sided foundation at points: the combustion seal on its
circle round each bore, the body on all of the deck face that is neither seal nor hole, the beads on
circles round the liquid holes. The closure of a zone at a point is the deflection of the plate plus
the local extra thickness less what the zone lies below the proudest zone. At assembly each point
follows its loading curve; the closure reached there is where it turns, and from then on it comes
back on the unloading path that starts there, or goes on along the loading curve beyond it.

Bolts. Each bolt pulls on a circle: the edge of its hole, or as wide as its head bears. While
tightening its force is the preload that is given, all bolts at once; one after the other
(`sequence`) only the bolt under the wrench is given and the others are springs. Afterwards all are
springs, with stiffness ke of the bolt and the members above the load plane, r that over the
stiffness of the members below it (`joint.split_at_load_plane`), deflection w of the plate at the
bolt, advance a of the nut or bolt, and the share g of the gas force that falls to this bolt

    F = (ke (a - w) + r g) / (1 + r)

The members below the load plane are squeezed by the clamp F - g, not by the bolt force, since the
gas pushes on the head past the gasket; the rest stretches by a - w - r (F - g)/ke, and F = ke times
that gives the line above. Summed over the bolts of a stiff head it is n ke (a - c) = (1 + r) G + P,
the balance of `joint.Joint`. The gas force of a bore is shared equally between the bolts that stand
round it. A bolt pulls no harder than it yields and never pushes; stretch that stays is not
remembered.

Gas pushes on the disc inside the seal diameter of each bore, cylinder by cylinder.

Heat. A fire side hotter than the top bows the head (`layout.thermal_bow`): a free shape that is
taken off the gasket's thickness like a warped face, in hot states only. Gasket and bolts bend the
head flat again but for about a reach (below) from its edge: the rim opens, what lies inside it is
pressed more, and sets more. A rim on a body of stiffness k loses about (1 + nu) K (k D)**(1/2) of
its stress to a curvature K: with K given, as by a gradient and a height that stay, a thicker head
(D as h**3) opens its rim more, while it spreads clamp and gas better. So a margin at the end of a
row may rise with thickness, and fall again. Solids do the same (``tests/sealing/solid_bow.csv``):
their rims open up to 22 % more.

A preload spreads at 45 degrees from the face of its bolt to the middle of the head's thickness
before it presses on the plate, as loads on thick plates are taken (common practice, no source).

Left out, besides what `plates` leaves out: bending of the block's deck, temperatures that differ
along the deck face, openings in the plate. A load reaches about (D/k)**(1/4) along a plate on a
body of stiffness k (`DeckMap.reach`). Where that is less than the head is thick, as on hard layers
and copper, a solid has more load at the weakest places than the map, up to several times as much,
and lifts more; by how much tells `DeckMap.accuracy`, and how thick the solids were that were tried.
"""

from sealkit.sealing.deck.map import DeckMap, from_joint
from sealkit.sealing.deck.state import State, Weakest, weakest
