"""Points measured by techniques other than legs on satellite navigation."""
