"""From a build sheet to the case that is judged: gas side, clamp side, heat, coolant and oil, deck.

Every part of a build is handed to the floors below; nothing is worked out here that stands there.
Numbers of the sheet named in `VARIABLE` may be arrays over builds (`with_numbers`): the same steps
then work out all builds at once.
"""

from sealkit.analysis.case import judged
from sealkit.analysis.clamp import (
    CLAMP_RULE,
    Clamp,
    clamp_side,
    creep_of,
    embedment_of,
    fastener_shares,
    scatter_of,
    scatter_row,
    seal_creep_of,
    sheet_status,
    trade_count,
)
from sealkit.analysis.deck_states import (
    BoreLook,
    DeckLook,
    coat_patch,
    deck_look,
    evenness,
    load_span,
    middle_bore,
    missing_patch,
    passes,
)
from sealkit.analysis.gas import (
    Gas,
    Mean,
    boost_for_power,
    boost_where,
    gas_side,
    kept_cycle,
    mean_cycle,
    over_air,
    sized_on,
)
from sealkit.analysis.gas_force import GasForce, gas_force
from sealkit.analysis.gasket import (
    body_over_ring,
    gasket_of,
    mating,
    of_one_sheet,
    ring_faces,
    whole_gasket,
)
from sealkit.analysis.heat_states import HeatStates, Stand, grown_parts, heat_states
from sealkit.analysis.many import VARIABLE, moves_the_cycle, with_numbers, with_one_preload
from sealkit.analysis.margins import Limit
from sealkit.analysis.refit import Fit, Refit, fit_of, refit, volumes_of
from sealkit.analysis.warm import (
    FULL_LOAD,
    HOT_STATES,
    Warm,
    hot_state,
    softer,
    stack_of,
)
from sealkit.analysis.wire_ring import RingInJoint, ring_at, usual_sizes
