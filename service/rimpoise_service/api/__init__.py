"""The REST service: Flask for the way in, marshmallow for the shapes, RFC 9457 for what goes wrong."""
