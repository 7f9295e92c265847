"""Pure geometry measured on solids of metal: walls, gaps, bodies, weight, statics, settings.

Nothing here knows of the language or of trade limits: the bench rules hand in figures and read answers.
Lengths are millimetres, angles degrees, masses grams, densities g/cm3."""
