//! Every kind of mistake: its line, its rule and the words that matter.

use super::*;
