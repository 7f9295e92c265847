"""The live page and the one file for a customer: the piece in its metal, turning.

    packet     what a browser is sent of a piece: a JSON head, then plain arrays
    faces      metal as triangles with the normal at each corner, line of work by line of work
    gems       each kind of stone as its facets and as the planes that bound it
    figures    the text's measures, their ranges, and where on the piece they act
    poses      how it lies, hangs and is worn
    viewer     the four above for one built piece; it works in the child that builds
    told       what is said beside the piece: weights, what changed, remarks
    tray       the pieces on show, their screens, and what these ask for
    serving    the server, on this machine only
    writing    a figure written into the text, comments and layout kept
    document   the page's own files made into one
    stills     pictures of the page, taken by a browser that is there
    web/       the page itself: HTML, CSS, JavaScript, shaders"""
