"""The plan carried out: from steps of work to finished metal.

**What comes in**: steps in the order of work, each "add" or "cut" (or "keep") of a shape at frames, and a
chord tolerance. **What goes out**: for each alloy one closed mesh that knows of every triangle which step it
comes from and how far it lies inside the true surface.

0. Holes whose depth the text leaves open get it from lines sent through the work before (``through``,
   ``chords``).
1. ``solids.Workshop`` walks the steps and calls the kernel for nothing yet. A body under way is a
   list of items (``items``): ``Copies`` of one mesh at many frames, or a ``Solid``, which is a key and
   a promise to make it. An add puts items into its body; a cut takes the copies and solids that
   its tools may reach (boxes, ``locality``) and leaves a ``Solid`` of them. Cuts of one kind in a row
   are one cut.
2. At the end all items of an alloy are joined in one go. Whatever the kernel has to look at costs it
   about 3 microseconds a triangle, each time; so ``copies.solids_of`` gives it as little to look at
   as may be: copies whose hulls surely do not meet go in as one mesh, those that do meet are joined
   among themselves first and then put into that mesh.
3. Every mesh goes in with two numbers on each triangle that the kernel carries through all booleans:
   a ``mark``, made of the content of its step (``owners``), and the ``face`` in that step's mesh.
   ``parts.in_order`` reads them back, puts the triangles into the order of work, and adds up what
   the facets fall short of the true surfaces; ``crumbs`` leaves out grains that the kernel's work left.
   So neither history nor chance shows in the bytes.
4. ``memo`` keeps meshes, solids and finished metal under hashes of what they are made of. A ``Solid``
   is asked for by its key, so after an edit only what follows from the edit is made again.
5. Flat metal that is bent (``bent``) is made first, then refined, moved point by point and marked anew."""
