"""A sheet as it leaves the service: a file to save, kept nowhere."""

from io import BytesIO

from flask import Response, send_file

from panel.services.print_kit import Printed


def sent(printed: Printed) -> Response:
    """As a file to save: it is printed from the program that prints best."""
    return send_file(
        BytesIO(printed.pdf),
        mimetype="application/pdf",
        as_attachment=True,
        download_name=printed.filename,
        etag=False,
    )
