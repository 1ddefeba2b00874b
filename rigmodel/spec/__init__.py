"""What a user may write: the scene file's models, limits, and how it joins the catalogue."""
