"""One module a check: its statement, its limits with their source, its findings."""
