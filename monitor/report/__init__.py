"""Documents and tables from results: what `analyse`, `export` and `simulate` write."""
