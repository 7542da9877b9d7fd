"""How good forecasts were: errors, calls, chances and dates against what happened."""
