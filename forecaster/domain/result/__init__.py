"""What a spray did, seen a season later."""
