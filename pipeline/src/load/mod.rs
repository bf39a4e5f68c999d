//! Data files to frames of text, keys joined. Opened read-only and hashed.
