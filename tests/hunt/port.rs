//! On a real pseudo-terminal: a scale that speaks at its own speed, whatever the port is set to.
