"""``python -m estimator``."""

from estimator.cli import program

if __name__ == "__main__":
    raise SystemExit(program())
