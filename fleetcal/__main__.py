"""Run the command line with ``python -m fleetcal``."""

from fleetcal.cli import main

if __name__ == "__main__":
    main(prog_name="fleetcal")
