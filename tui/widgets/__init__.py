"""One widget a file. No maths of the job and no I/O in any of them."""
