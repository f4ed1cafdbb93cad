//! Least-squares solver of dimension equations.
