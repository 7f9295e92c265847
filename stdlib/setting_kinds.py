"""What the trade calls the ways a stone is set, by what is pushed over it. Common practice, no source."""

PEARL = "pearl"
PEG = "peg and glue"  # how a pearl is held
CEMENT = "cement"  # how a flat stone is held in its pocket
BEZEL = "bezel"
BEZEL_AND_PRONGS = "bezel and prongs"
BEADS = "beads"
SHARED = "shared prongs"
PRONGS = "prongs"
RIM = "rim"
