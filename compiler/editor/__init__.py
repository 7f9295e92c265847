"""posy in an editor: what a language server of the Language Server Protocol tells about a text.

``look`` holds a text and what is known of it, ``place`` says what stands at a place, ``scopes`` what
names mean where; ``completion``, ``hover``, ``names``, ``mends`` and ``weight`` answer one question
each, in offsets of the text. Only ``server`` knows the protocol, by pygls."""
