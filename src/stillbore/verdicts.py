"""The three words of a verdict. "Not proven" is a result; a blank is none."""

MET, NOT_MET, NOT_PROVEN = "met", "not met", "not proven"
