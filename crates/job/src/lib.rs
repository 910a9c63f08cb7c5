//! The job file and evaluate(job) -> findings. Knows no window.
