"""The program looks at itself: settings, clock, state, weather, channels, schedule."""
