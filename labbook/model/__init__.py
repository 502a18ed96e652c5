"""What files and results mean: records, result types and units, without input or output."""
