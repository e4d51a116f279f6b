"""DXF and SVG files as outlines and lines in mm."""
