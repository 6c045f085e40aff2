"""What the ground does, from arrays alone: arrays in, arrays out."""
