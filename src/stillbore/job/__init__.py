"""What is known and allowed: survey, kit, rule set and procedure files, loaded with every fault at once."""
