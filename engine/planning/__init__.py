"""What follows from the examinations: stains, recoat, triage, order of work, schedule, shopping."""
