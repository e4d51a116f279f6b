"""What findings say: the texts of all checks, one module a folder of checks."""
