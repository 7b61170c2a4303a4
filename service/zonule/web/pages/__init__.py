"""The pages of the service, written on the server."""
