"""What each command of the command line can be told, by family. Nothing heavy is imported here."""
