"""The declaration: names, order, allergens, net content, and back from a label to a formula."""
