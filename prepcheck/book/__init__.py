"""What arrived, was found, was decided and was released: orders remembered, and nothing lost.

The only room that knows a database. `prepcheck.book.book.open_book` opens one; what comes out of
it are the frozen records of `prepcheck.book.records`, never rows. Needs `prepcheck[book]`.
"""
