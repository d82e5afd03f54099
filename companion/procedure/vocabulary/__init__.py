"""What the language of procedures knows by name, kept as data: a row more, and it can be said.

Each `.toml` file here is one open list. The module of the same name says what its rows mean.
"""
