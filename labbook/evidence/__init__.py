"""What the batches tell: differences, factors, outcomes, causes, the next batch, trends."""
