"""mixlab: recipes for painters who work with few tubes, from real paint optics.

>>> import mixlab
>>> table = mixlab.read_table()                  # the bundled pigment table, or a path
>>> table["cobalt-blue"].K.shape                 # absorption on 380-730 nm by 10; .S scattering
(36,)
>>> palette = mixlab.read_palette("mill-pond")   # a bundled palette, or a path
>>> few = table.palette(["titanium-white", "ultramarine-blue", "burnt-sienna"])
>>> mixture = few.mix({"titanium-white": 3, "ultramarine-blue": 1})
>>> mixture.lab.shape                            # .munsell .sensitivity .contrast_ratio()
(3,)
>>> answer = mixlab.find_recipe([45, 15, 20], palette, tolerance=2.0, max_tubes=4)
>>> answer.in_reach                               # .recipe .by_count[k-1].miss, .shares
True
>>> many = mixlab.find_recipes([[45, 15, 20], [60, 5, 30]], palette)    # (n, 3) at once
>>> many.parts.shape
(2, 7)
>>> tints = mixlab.ladder(table.mix("1 PB29"), table.mix("1 PW6"), steps=9, even="value")
>>> tints.shares.shape                           # also .lab .munsell .drift .contrast_ratio .whole
(9,)
>>> mixlab.report(table.mix("1 PB29"), table.mix("1 PW6")).peak.share < 0.1     # where C* peaks
True
>>> sorted(mixlab.adjust(table.mix("1 PG18 + 2 PW6"), palette, chroma_by=-1).parts)  # to add
['burnt-sienna', 'titanium-white']
>>> few = mixlab.fewest_tubes([[45, 15, 20], [60, 5, 30]], palette, tolerance=2.0, max_tubes=3)
>>> len(few.tubes), few.proven                   # also .sets .lower_bound .recipes
(4, True)

``mixlab.plan(photo, palette)`` plans a picture: ``.values .masses .family .piles .order .amounts``.

Colours are CIELAB under D65 and the 2 degree observer, of glossy paint, unless a
``view=mixlab.viewing("A", "10", "matt")`` says otherwise; misses are CIEDE2000. Every mistake in
what is asked raises a :class:`mixlab.MixlabError` with one line that says what would be right.
"""

import signal
import sys

_command = sys.argv[:1] == ["-m"] or "".join(sys.argv[:1]).endswith(("/mixlab", "\\mixlab.exe"))
if _command and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
    # until the command sees to Ctrl-C itself, that ends it without a traceback
    signal.signal(signal.SIGINT, signal.SIG_DFL)

from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import lights, viewing
from mixlab.errors import MixlabError
from mixlab.mixing.adjust import Adjustment, adjust
from mixlab.mixing.answers import Answer, Recipes
from mixlab.mixing.glazing import Layering, find_layer
from mixlab.mixing.ladders import Ladder, ladder
from mixlab.mixing.recipes import find_recipe, find_recipes
from mixlab.mixing.value_chroma import Report, report
from mixlab.paint.add import add_paint
from mixlab.paint.layers import Layer, layer
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint
from mixlab.paint.tables import (
    Palette,
    PigmentTable,
    palette_names,
    read_palette,
    read_table,
    write_table,
)
from mixlab.palette.family import Family, family
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import Addition, best_next
from mixlab.palette.reach import Reach, reach
from mixlab.palette.trade_off import TradeOff, trade_off
from mixlab.palette.tube_sets import Fewest
from mixlab.picture.plan import Plan, plan

__all__ = [
    "Addition",
    "Adjustment",
    "Answer",
    "Family",
    "Fewest",
    "Ladder",
    "Layer",
    "Layering",
    "MixlabError",
    "Mixture",
    "Paint",
    "Palette",
    "PigmentTable",
    "Plan",
    "Reach",
    "Recipes",
    "Report",
    "TradeOff",
    "add_paint",
    "adjust",
    "best_next",
    "ciede2000",
    "family",
    "fewest_tubes",
    "find_layer",
    "find_recipe",
    "find_recipes",
    "ladder",
    "layer",
    "lights",
    "palette_names",
    "plan",
    "reach",
    "read_palette",
    "read_table",
    "report",
    "trade_off",
    "viewing",
    "write_table",
]
