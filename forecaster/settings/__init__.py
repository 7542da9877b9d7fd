"""TOML and GeoJSON files of a farm, read into frozen objects."""
