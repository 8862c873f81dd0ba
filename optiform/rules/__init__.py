"""What a formulator and the law know, read from ingredient_db."""
