"""What is wanted, and its reader."""
