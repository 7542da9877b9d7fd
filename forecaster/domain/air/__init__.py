"""The air over a paddock: Delta T, sun, wind, rain and inversions."""
