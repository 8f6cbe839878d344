"""Pure formulas of hoisting on arrays, SI inside; no state, no I/O."""
