//! Sheet stock: what a cover is made of.
