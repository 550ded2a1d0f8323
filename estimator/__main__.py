"""``python -m estimator``."""

from estimator.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
