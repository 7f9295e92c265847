"""Pages written from what posy knows of itself: the reference, its scenes, the gallery, the starter."""
