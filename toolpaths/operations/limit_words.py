"""Which limit decided a value, in words: as programs say it after `reason:`, and a table below `decided by`.

Sizes that a sentence names are passed in as text, in the machine's units.
"""

from __future__ import annotations

JOB = "the job file"

# Speed of the spindle
USUAL_SPEED = "the usual speed"
SPINDLE_HIGHEST, SPINDLE_LOWEST = "the spindle's highest speed", "the spindle's lowest speed"
BIT_HIGHEST = "the bit's highest speed"
SURFACE_SPEED = "a wide bit: at most {speed} at its edge"
ON_DIAL = "{reason}, then the next lower speed on the dial"
SLOW_ENOUGH = "the machine's feed limit: a lower speed, so that the chip does not get too thin"

# Feed
CHIP = "chip load of a {size} bit in {wood}"
CAREFUL_CHIP = "the job asks for a careful pace: a small chip load"
RUBS = "a thinner chip rubs instead of cutting"
FEED_LIMIT, FEED_LIMIT_Z = "the machine's feed limit", "the machine's feed limit in Z"
PART_OF_FEED = "{part:.0f} % of the feed"

# Strength of a slender bit, for feed and pass depth
STRENGTH = "the strength of the {material} bit at the root of its flutes"
BENDS = "at most {by} of bending at the bit's tip"

# Depth of a pass
CAREFUL_DEPTH = "the job asks for a careful pace: a quarter of the bit's diameter"
EDGES = "the length of the bit's cutting edges"
DRILL = "a drill clears its chips after each diameter of depth"
POINTED = "deeper, a pointed bit cuts too wide for one pass in {wood}"
SLENDER_POINT = "a slender point takes a quarter of its tip's diameter"
WIDE = "a wide bit planes at most {most} a pass"
HALF = "half of the bit's diameter: chips fill a deeper slot"
FINE = "a fine bit cuts at most {most} a pass"
THIN = "{part:.2g} of the bit's diameter, the most for a thin bit"
SMALL = "{part:.2g} of the bit's diameter, the most for a small bit"
LARGE = "{part:.2g} of the bit's diameter: a larger bit needs more force"
IN_WOOD = "{part:.2g} of the bit's diameter in {wood}"
GIVES_WAY = "deeper, the machine bends by more than {by}. Its stiffness is {found} {stiffness:g} N/mm"
STIFFNESS_MEASURED, STIFFNESS_TAKEN = "measured as", "not measured, taken as"
SKIM = "common practice: a skim takes at most {most}"

# Step-over, last skim, ramp
STEP_OVER = "common practice: {part} of the bit's diameter"
STEP_OVER_SKIM = "common practice: {part} of the bit's diameter for a light skim"
NO_SKIM = "a thin bit needs no last skim"
LIGHT_SKIM = "a light last skim for a small bit"
LAST_SKIM = "common practice: a last skim of {least} to {most}"
THIN_BIT, SMALL_BIT = "a thin bit", "a small bit"
HARDNESS = "the hardness of {wood}"

# Direction
ROUGH_AND_SKIM = "common practice: rough passes conventional, last skim climb"
BACKLASH_UNKNOWN = "the machine's backlash in X is not measured"
BACKLASH = "the machine's backlash in X is {width}"
BACKLASH_SMALL = "the machine's backlash in X is less than {width}"
