"""The plan carried out: from steps of work to finished metal, and what makes that fast."""
