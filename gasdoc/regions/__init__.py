"""What each region's codes ask, as data: rules, tests, cautions, upkeep, questions, and who decides.

Each kind of row is a model in the module of its name, which also finds the rows a build gets. Nothing here judges a
build. Every row says where it comes from and how well that is confirmed; a row from memory is shown as such.
"""
