"""Features: the wanted shape of each, and the operations that cut it; what several share."""
