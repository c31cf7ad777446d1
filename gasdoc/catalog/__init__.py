"""What the trade sells, and the published tables about it, as data: each row with its source. No brands.

Reads only its own data files; knows no spec and no region. Values come out in SI.
"""
