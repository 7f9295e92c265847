"""From metal to the mould: where to pour, how it will freeze, how many go in a flask.

``caster`` holds the workshop's figures, ``sprues`` where metal can come in, ``pouring`` one casting and
how it freezes, ``proposal`` sprues where the text has none, ``tree`` the flask, ``plan`` all of it as one
record, ``picture`` and ``sheet`` how it is shown. Lengths mm, times s, weights g, temperatures deg C."""
