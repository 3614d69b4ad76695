"""What is wrong with a text: places in files, mistakes, spelling suggestions."""
