"""Documents to print: batch sheet, declaration, cost sheet."""
