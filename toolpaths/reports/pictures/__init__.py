"""The wood as a picture: depths as colours."""
