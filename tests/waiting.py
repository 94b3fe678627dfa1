"""How long a test waits for something that must come: a guard against a hang, never a statement about speed."""

PATIENCE = 600.0  # seconds; a busy machine has needed more than 120
PATIENCE_MS = 1000.0 * PATIENCE
