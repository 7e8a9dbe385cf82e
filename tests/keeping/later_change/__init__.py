"""An app whose migration stands for one that a later version brings: a new table filled from an old one."""
