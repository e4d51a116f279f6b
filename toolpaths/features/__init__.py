"""What a feature is: the shape that it wants, the operations that cut it; what several share."""
