"""One module a verb: each joins the rooms below, and returns a frozen result."""
