"""Speed and quality, measured on demand (`python -m tests.benchmarks.<name>`), never asserted."""
