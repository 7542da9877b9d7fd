"""From outlooks to the plan of a rig."""
