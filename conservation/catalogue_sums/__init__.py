"""The catalogue's own sums (numbers, dates, file names) for the command line."""
