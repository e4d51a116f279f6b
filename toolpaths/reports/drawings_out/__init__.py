"""The exact shapes of a job at 1:1: DXF, PDF, SVG, cards for the carver."""
