"""Control charts as pure functions: centre, limits, and who lies beyond them."""
