"""The preview page: depth map, sections and replay."""
