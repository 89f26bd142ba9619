"""Two files compared plate by plate: as revisions of one artwork, or a sheet against its one-up."""
