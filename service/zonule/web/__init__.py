"""The service: the pages and the programming interface of one unit, over the store."""
