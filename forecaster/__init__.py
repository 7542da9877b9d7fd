"""Weather-aware spray-window forecaster for pastures."""

__version__ = "0.1.0"
