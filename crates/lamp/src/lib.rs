//! Casts shadows of known threads as pictures, for tests and demonstrations.
