"""The full-screen board: draws Snapshots, sends operators' steps to the journal."""
