//! Data files to frames of text, keys joined. Opened read-only and hashed.
pub mod csv;
pub mod scan;
pub mod text;
