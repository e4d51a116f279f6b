"""Does anything meet what it must not: wood, clamp, bed, end of travel?"""
