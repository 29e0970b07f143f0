"""How sure: the budget, its degrees of freedom, amounts and directions, the decision."""
