"""What a piece costs: metal, stones and work by the prices of the house, in decimal arithmetic."""
