"""The REST service: Flask for HTTP, marshmallow for the schemas, RFC 9457 for errors."""
