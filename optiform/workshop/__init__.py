"""What the maker owns and did: stock, versions, batches, trials."""
