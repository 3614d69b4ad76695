"""The page of a harness: what is shown in a browser, from one file that fetches nothing.

``log`` is the build log as a separate page, from ``markdown``, ``fences`` and ``photographs``. ``scripts`` is what
runs in the page: ``sparse.js``, ``solver.js`` and ``settling.js`` calculate, from what ``checks.export`` writes.
"""
