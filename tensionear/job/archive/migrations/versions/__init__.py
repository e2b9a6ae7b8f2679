"""One module a version; what is released is never changed."""
