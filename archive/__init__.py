"""The catalogue: what there is, who is in it, where it is; and the site's root."""
