"""Every sentence of a program's comments, in the order in which a program has them. Only the writer uses them.

The names in braces are filled by `operator_comments.py`. docs/programs.md lists those that the reader reads back,
with a parser of its own: change both. What features, strategies and limits say of themselves stands with those.
"""

# What this program is.
TITLE = "Title: {title}"
MADE_BY = "neckpath {version}, job {job}"
PLACE = "Program {number} of {count}, setup {setup}"
SESSION = "Session {number} of {count}. Each session is booked for {minutes:g} minutes."
GOES_ON = "This program continues a cut of the program before it. The blank must lie exactly as it did then."
OPTION = "Written with the option: {change}"
MEASURED = "Measured: {words}."
ACCEPTED = "Accepted despite a stop: {code} of {feature}"
LIFTED = "Lifted: {height}"
IN_THE_AIR = "This is a dry run in the air. No move touches the blank."
MACHINE = "Machine: {name}"
TIME = "Running time: about {minutes:.1f} minutes, an estimate."

# How the work lies, and where zero is.
IS_JIG = (
    "This program cuts a jig. Screw the jig down first. Do not move it until all work on it is cut.",
    "Set this zero once. All work on the jig uses it.",
)
ON_JIG = (
    "Jig: job {job}, {title}",
    "The jig must be cut already, and not moved since. Its X zero and Y zero are used here.",
    "The blank lies on the seat of the jig.",
)
BARE_BED = "Take the blank off first. This program cuts the bare bed."
BLANK = "Blank: {wood}, {length} x {width}, {thickness} thick"
FACE_DOWN = "The blank lies face down. Turn it over about its centreline: its left end stays on the left."
NUT_LINE = "The nut line is {nut_at} from the left end of the blank."
CENTRELINE = "The centreline is {centre_at} from the operator's edge."
OWN_PIECE = "This blank is a separate piece. Places count from its left end and from the operator's edge."
ON_EDGE = (
    "Stand the finished board on edge: {stand}, nut on the left, face {face} the operator.",
    "Wedge the lower edge until the upper edge is level. Clamp the board along its whole length.",
    "The corner of the upper edge at the nut is {nut_at} from the left end.",
)
LIES = "Place {number} of {count}, {name}: the blank lies {shift} further left than at first."
LIES_FIRST = "Only a part of the blank is cut here. Set X and Y zero now. They stay for all places."
LIES_MOVED = "Move the blank onto its pins, and hold it again. Do not set X and Y zero again. Test the place first."
UNDER = "Between bed and blank: {thickness} of backing and tape. Z includes it."
ZERO = "Zero: X at the {x}, Y at the {y}, Z at the {z}, offset {offset}"
FANNED = "X counts from where the nut line crosses the centreline. The front of the nut is there at X {x}."
ASKEW = (
    "The blank lies turned {degrees:.3f} degrees {way}, and {shift} {side} the operator than its zero says. "
    "The program follows it."
)
CORRECTED = "{axis} is corrected: {commanded} measured {measured}, so every {axis} is multiplied by {factor:.6f}."
SQUARED = "Y leans {way} by {off} in {length}. The program corrects it: X changes by {factor:.6f} of Y."
BACKLASH = "Backlash in {axis} is {width}. The program does not correct it."
LINES_FROM_ONE_SIDE = "All lines are approached from lower X, so that backlash does not change their spacing."

# What holds the blank, and what stands in the way.
HELD = "Held by {holders}."
OBSTACLES = "The bit keeps clear of each obstacle listed here. No obstacle may be larger, or elsewhere."
OBSTACLE = "Obstacle {number}, {name}: X {x}, Y {y}, up to {height} {side} the {bed}"
VACUUM_HOLDS = "The vacuum holds against lift and push"
PINS_HOLD = "The pins hold only against push and turning"
STOPS_HOLD = "The stops hold only against push toward them"

# Bit and height.
BIT = "Bit {number}: {name}, {shape} {size}, {flutes}, {stickout} out of the collet"
POCKET = "Pocket {number}: {name}. Check before the start that this bit is in it."
HIGHEST = "The blank is thickest, {thickness}, at X {x}, Y {y}: touch off there."
TOUCH_OFF = "Touch off: {surface}, Z {z}"
MOTION = "Motion: X {x}, Y {y}, Z {z}"

# Six at most.
CAUTIONS = (
    "Caution: check units and zero, then run this program in the air first.",
    "Caution: no clamp in the path, extraction on, no gloves. Protect eyes, ears and lungs.{dust}",
    "Caution: stay at the stop button. Mark the shank at the collet, and check after the first pass that the bit has "
    "not slipped.",
    "Caution: isolate the spindle from its supply before you change a bit. Set Z again after each change.",
)
DUST = " The dust of {wood} can cause allergies of skin and airways."
CHANGER = (
    "Caution: this program changes bits by itself. The controller must know the length of each bit. Set Z for the "
    "first bit."
)
COMES_FIRST = "The machine's manual, the shop's rules and local law come before this program."

# Before a feature and its passes.
REASON = "{feature}: {value}, reason: {reason}"
FEED, PASS_DEPTH = "feed {feed}/min", "pass depth {depth}"
ONE_WAY = "every level in the same direction"
BOTH_WAYS = "levels in both directions"
FRAGILE = "{feature}: the bit would break at about {times} times the expected load, an estimate"
SECTION = "Feature {feature}: {title}"

# Where a hand is needed, and at the end.
CHANGED = "The bit has been changed. {set_z}, or check that the controller has measured its length. Then go on."
SET_Z, SET_Z_ON = "Set Z again", "Set Z again on the {surface}, Z {z}"
SPEED = "Set the spindle's speed by hand: {dial}, {rpm:.0f} rpm. Then go on."
SPINDLE_ON = "Switch the spindle on by hand: {dial}, {rpm:.0f} rpm. Then go on."
SPINDLE_OFF = "Switch the spindle off by hand. Then go on."
END = "End: lift the bit, spindle off, go to the parking place."

# At the top of the file of words beside a program without comments.
BESIDE = (
    "# The comments of {name}, whose controller takes none.",
    "# Keep this file beside the program. Each number is the line of the program that the words stand before.",
)
