"""`python -m roofspring` is the `roofspring` command."""

from roofspring.cli.app import main

if __name__ == "__main__":
    main()
