"""One module for each group of commands; each imports its workflow only when it runs."""
