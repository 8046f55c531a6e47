"""The cautions that every output carries which tells somebody to cut: one list, the same words everywhere."""

from __future__ import annotations

SHARP = "Sharp irons: take the iron out before you handle the body; carry and store it with its edge covered."
MACHINES = (
    "Band saw and drill press: clamp the work, keep hands off the line of the cut, set guards and guides close, stop "
    "the machine before you clear it. No gloves, loose sleeves or long hair near anything that turns."
)
PROTECTION = "Wear eye and ear protection; for sawing, sanding and scraping use dust extraction or a mask as well."
DUST = (
    "Wood dust is a known human carcinogen (IARC Monographs vol. 100C, 2012), hardwood dust above all. Take it off "
    "where it arises, and do not blow it about."
)
RAGS = (
    "Rags with linseed oil set themselves alight. Spread them flat or hang them singly out of doors until they are "
    "hard, or keep them wet in a metal can with a lid; never wad them up or bin them."
)
LEAD = "Take old paint and japanning for lead until a test says otherwise: do not sand, burn or blast them dry."
ROUTER = (
    "CNC work-holding: a half lies on its outer face; screw or clamp it outside the cut, and check the toolpath against "
    "the clamps before the spindle turns."
)
PRINTED = "A printed test piece tells whether metal fits; it is not to be planed with."
AUTHORITY = "The machine's manual, local codes and the advice of licensed or trained people go before anything written here."

CAUTIONS = (SHARP, MACHINES, PROTECTION, DUST, RAGS, LEAD, ROUTER, PRINTED, AUTHORITY)
"""All of them."""

AT_THE_BENCH = (SHARP, MACHINES, PROTECTION, DUST, RAGS, LEAD, AUTHORITY)
"""Those for work by hand and with a shop's usual machines."""

AT_THE_ROUTER = (ROUTER, PROTECTION, DUST, AUTHORITY)
"""Those for whoever stands at a router."""

IN_SHORT = (
    "Before you cut: iron out and its edge covered, work clamped, guards set, eyes, ears and lungs protected; the machine's "
    "manual and trained people go first."
)
"""All in a sentence, for an answer of a few lines."""
