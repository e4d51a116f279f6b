"""What may stand in a job or a machine file, in words and as a schema; a first job."""
