"""Practice: sessions, matches, carries, and looking back.

Pure but for the clock that is handed in: nothing here calls the store or opens a file. Of the
store only the frozen shapes are known, as types.
"""
