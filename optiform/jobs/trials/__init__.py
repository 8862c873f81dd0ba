"""What logged trials teach: from readings to a firmness scale that fits the maker's own jars and instruments."""
