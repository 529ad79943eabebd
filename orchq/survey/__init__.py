"""What scores ask of string players, measured: one tidy row for each place."""
