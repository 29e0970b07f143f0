"""One model of stations that were stopped at: what may disturb them, by how much, and what follows."""
