"""The page of a harness: what is shown in a browser, from one file that fetches nothing.

``page`` puts one harness into ``page.html``: drawings, what ``checks.export`` writes, ``facts`` of wires and parts, and
what was ``found``. ``scripts`` names what runs there: ``sparse.js``, ``solver.js`` and ``settling.js`` calculate,
``trial.js`` knows what is being tried, ``sheet.js`` paints and moves the drawing, ``touch.js`` says what is under a
finger; ``panel.js``, ``tables.js``, ``faults.js`` and ``findings.js`` are parts of the page. ``log`` is the build log
as a separate page, from ``markdown``, ``fences`` and ``photographs``.
"""
