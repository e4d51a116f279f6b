"""Commands about bits and machine themselves: coupon, gauge, and the waste board skimmed level."""
