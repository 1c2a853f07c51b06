"""The virtual rig: physics run forwards. It shares no code, parameter or model family with gauge/, the judges."""
