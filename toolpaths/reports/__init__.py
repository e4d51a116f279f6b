"""Everything that users see: pages, pictures, drawings, tables and words."""
