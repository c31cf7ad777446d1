"""The physics and methods of the trade as pure functions on plain SI numbers.

Nothing here imports another part of gasdoc, knows a file, a unit's name or a page. Pressures say `gauge` or
`absolute` in their names. Results are plain values with reason codes; `gasdoc.study` turns them into findings.
"""
