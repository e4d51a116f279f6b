"""The shape wanted, as regions with floors; nothing of how it is cut."""
