"""From text to checked features: the language room, which knows nothing of metal or meshes."""
