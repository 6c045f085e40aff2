"""What a playground would cost: lines, prices, draws, upkeep, money and time; never in a score."""
