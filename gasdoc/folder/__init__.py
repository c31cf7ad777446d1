"""The folder of specs: what lies in it, what is linked, all of them checked, two of them compared."""
