"""The steps of a job: what is asked for, done, and noted."""
