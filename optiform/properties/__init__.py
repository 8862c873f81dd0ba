"""What can be measured and limited, one module per family of properties."""
