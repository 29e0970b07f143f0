"""What is handed over on paper: pages of a job or of a shop, as HTML and PDF, from one source of facts."""
