"""Which active suits a paddock, or whether to leave it unsprayed, and why."""
