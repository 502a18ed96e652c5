"""The notebook folder: YAML files, git, the lock, the intent record, the index, photos, rules."""
