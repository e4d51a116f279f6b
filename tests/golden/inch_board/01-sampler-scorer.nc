(Title: Five-fret sampler, 13 in)
(neckpath 0.1.0, job 40ecd91bf378)
(Program 1 of 3, setup sampler)
(Machine: hand dial)
(Running time: about 2.2 minutes, an estimate.)
(Blank: black walnut, 4.750 in x 2.250 in, 0.245 to 0.250 in thick)
(The nut line is 0.400 in from the left end of the blank.)
(The centreline is 1.125 in from the operator's edge.)
(Zero: X at the stock end, Y at the stock edge, Z at the stock top,)
(+ offset G55)
(Held by tape.)
(The bit keeps clear of each obstacle listed here. No obstacle may be)
(+ larger, or elsewhere.)
(Obstacle 1, left clamp: X -0.500 to -0.100 in, Y 0.525 to 1.725 in,)
(+ up to 0.500 in above the bed)
(Bit 1: scorer, flat 0.024 in, 2 flutes, 0.6 in out of the collet)
(Touch off: stock top, Z 0.0000 in)
(Motion: X 0.400 to 3.661 in, Y 0.243 to 5.125 in, Z -0.018 to 0.450)
(+ in)
(Caution: check units and zero, then run this program in the air)
(+ first.)
(Caution: no clamp in the path, extraction on, no gloves. Protect)
(+ eyes, ears and lungs.)
(Caution: stay at the stop button. Mark the shank at the collet, and)
(+ check after the first pass that the bit has not slipped.)
(Caution: isolate the spindle from its supply before you change a)
(+ bit. Set Z again after each change.)
(The machine's manual, the shop's rules and local law come before)
(+ this program.)
G20
G17 G90 G94
G55
G0 Z0.45
(Bit 1: scorer, flat 0.024 in, 2 flutes, 0.6 in out of the collet)
(Switch the spindle on by hand: dial 3, 17000 rpm. Then go on.)
M0
G4 P10
(score_lines: feed 14.5 in/min, reason: chip load of a 0.024 in bit)
(+ in black walnut)
(score_lines: pass depth 0.012 in, reason: a fine bit cuts at most)
(+ 0.0118 in a pass)
(score_lines: every level in the same direction, reason: the)
(+ machine's backlash in X is not measured)
(score_lines: the bit would break at about 9 times the expected load,)
(+ an estimate)
(Feature score_lines: fret 1, 2 levels, one way)
G0 X1.0115 Y0.3332
G0 X1.1296 Y0.3332
G1 Z0.0197 F14.5
G1 Z0 F4.3
G1 Y0.462 Z-0.0045 F10.1
G1 Y0.3332 Z-0.009
G1 Y1.8273 F14.5
G0 Z0.45
G0 X1.1296 Y0.3332
G1 Z0.0197
G1 Z-0.009 F4.3
G1 Y0.462 Z-0.0135 F10.1
G1 Y0.3332 Z-0.018
G1 Y1.8273 F14.5
G0 Z0.45
(Feature score_lines: fret 2, 2 levels, one way)
G0 X1.7002 Y0.3086
G0 X1.8183 Y0.3086
G1 Z0.0197
G1 Z0 F4.3
G1 Y0.4375 Z-0.0045 F10.1
G1 Y0.3086 Z-0.009
G1 Y1.8519 F14.5
G0 Z0.45
G0 X1.8183 Y0.3086
G1 Z0.0197
G1 Z-0.009 F4.3
G1 Y0.4375 Z-0.0135 F10.1
G1 Y0.3086 Z-0.018
G1 Y1.8519 F14.5
G0 Z0.45
(Feature score_lines: fret 3, 2 levels, one way)
G0 X2.3502 Y0.2855
G0 X2.4683 Y0.2855
G1 Z0.0197
G1 Z0 F4.3
G1 Y0.4144 Z-0.0045 F10.1
G1 Y0.2855 Z-0.009
G1 Y1.875 F14.5
G0 Z0.45
G0 X2.4683 Y0.2855
G1 Z0.0197
G1 Z-0.009 F4.3
G1 Y0.4144 Z-0.0135 F10.1
G1 Y0.2855 Z-0.018
G1 Y1.875 F14.5
G0 Z0.45
(Feature score_lines: fret 4, 2 levels, one way)
G0 X2.9638 Y0.2637
G0 X3.0819 Y0.2637
G1 Z0.0197
G1 Z0 F4.3
G1 Y0.3925 Z-0.0045 F10.1
G1 Y0.2637 Z-0.009
G1 Y1.8969 F14.5
G0 Z0.45
G0 X3.0819 Y0.2637
G1 Z0.0197
G1 Z-0.009 F4.3
G1 Y0.3925 Z-0.0135 F10.1
G1 Y0.2637 Z-0.018
G1 Y1.8969 F14.5
G0 Z0.45
(Feature score_lines: fret 5, 2 levels, one way)
G0 X3.5429 Y0.243
G0 X3.661 Y0.243
G1 Z0.0197
G1 Z0 F4.3
G1 Y0.3719 Z-0.0045 F10.1
G1 Y0.243 Z-0.009
G1 Y1.9175 F14.5
G0 Z0.45
G0 X3.661 Y0.243
G1 Z0.0197
G1 Z-0.009 F4.3
G1 Y0.3719 Z-0.0135 F10.1
G1 Y0.243 Z-0.018
G1 Y1.9175 F14.5
G0 Z0.45
(End: lift the bit, spindle off, go to the parking place.)
(Switch the spindle off by hand. Then go on.)
M0
G0 X0.4 Y5.125
M30
