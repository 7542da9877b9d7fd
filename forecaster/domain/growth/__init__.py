"""When the heads of a weed reach each stage."""
