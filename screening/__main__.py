"""`python -m screening` is the command `screening`."""

from screening.cli.main import main

if __name__ == "__main__":
    main()
