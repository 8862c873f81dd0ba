"""The maker's questions, one module each."""
