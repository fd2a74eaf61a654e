"""A web service: post the JSON of a piece, get the JSON of its answer. Only for a workshop's own network.

Run it with the port 8417, then: curl --data @piece.json http://127.0.0.1:8417
"""

from __future__ import annotations

import json
import sys
from http.server import BaseHTTPRequestHandler, HTTPServer

from resinid import InputError, ResinidError, identify
from resinid.io.document import read_document

MOST = 1_000_000


class Handler(BaseHTTPRequestHandler):
    """Answers one piece a request."""

    def do_POST(self) -> None:
        """Identify what was posted; faults come back with their places."""
        text = self.rfile.read(min(int(self.headers.get("Content-Length", 0)), MOST)).decode(errors="replace")
        try:
            seen = read_document(text + "\n")
            code, said = 200, identify(seen.observations, piece=seen.piece, prior=seen.prior).to_json()
        except InputError as error:
            code, said = 422, json.dumps({"faults": [[fault.place, fault.message] for fault in error.faults]})
        except ResinidError as error:
            code, said = 422, json.dumps({"faults": [["", str(error)]]})
        self.send_response(code)
        self.send_header("Content-Type", "application/json")
        self.end_headers()
        self.wfile.write(said.encode())


if __name__ == "__main__":
    server = HTTPServer(("127.0.0.1", int(sys.argv[1]) if len(sys.argv) > 1 else 0), Handler)
    print(f"listening on port {server.server_port}", flush=True)
    # Without a port it answers once, on any that is free, which is how it is tested.
    server.handle_request() if len(sys.argv) == 1 else server.serve_forever()
