"""The bench: where things stand, what they offer, and the plan, the order of work written as steps."""
