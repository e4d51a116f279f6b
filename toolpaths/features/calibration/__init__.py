"""Programs about the machine itself: coupon and gauge, scraps to measure by, and the waste board skimmed level."""
