"""The invented network: a simulator of units, of clinics and of their untidy logs."""
