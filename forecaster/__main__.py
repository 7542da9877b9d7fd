"""Let ``python -m forecaster`` be the same program as ``forecaster``."""

from forecaster.cli.main import run

if __name__ == "__main__":
    run()
