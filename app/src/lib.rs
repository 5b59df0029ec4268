//! The application: command line and window around `aubergine_core`.
