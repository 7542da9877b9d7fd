"""A rig, the hours it needs, and the order it takes paddocks in."""
