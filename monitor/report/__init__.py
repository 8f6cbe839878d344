"""Documents and tables from results."""
