"""Where a record is kept and by whose hand it is signed: disk, keys, sync."""
