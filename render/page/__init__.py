"""The page of a harness: what is shown in a browser, from one file that fetches nothing."""
