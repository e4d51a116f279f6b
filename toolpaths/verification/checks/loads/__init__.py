"""Do bit and spindle bear what they are asked to do?"""
