"""The reference pages and the JSON Schema of scenario files, made from the models."""
