"""Parts of pages: each takes a scope or a unit and gives frozen values, ready to print."""
