"""What a jar costs, and which packs to buy."""
