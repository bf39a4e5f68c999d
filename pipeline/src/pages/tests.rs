//! What both kinds of pages must hold.
