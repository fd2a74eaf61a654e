"""The cited reference table: what is published about each resin."""
