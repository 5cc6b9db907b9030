//! What the test files share.
