"""What a job says: its steps, its proof, its papers."""
