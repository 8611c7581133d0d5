"""What the trade knows: entries in YAML, their models, the loader, the fact vocabulary and the rules."""
