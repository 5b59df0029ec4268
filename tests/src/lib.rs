//! What the acceptance tests share.
