"""The fixture `browser`: real, sized, and without a network, so that "offline" is proven."""

import threading
import urllib.request
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

pytestmark = pytest.mark.browser


@pytest.fixture
def server():
    """Serve an empty answer on this machine, and keep what was asked for."""
    asked = []

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *words):
            """Stay quiet."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as http:
        thread = threading.Thread(target=http.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{http.server_port}", asked
        http.shutdown()
        thread.join()


def test_a_page_reaches_no_host_not_even_this_machine(browser, server, tmp_path):
    address, asked = server
    page = tmp_path / "page.html"
    page.write_text(f"<title>x</title><img src='{address}/image.png'>", encoding="utf-8")
    browser.open(page)
    assert asked == []
    assert f"{address}/image.png" in browser.requests()
    assert any("image.png" in line for line in browser.console())
    urllib.request.urlopen(f"{address}/asked").close()  # noqa: S310 -- who can speak is heard
    assert asked == ["/asked"]


def test_a_page_on_file_runs_its_script_and_says_nothing_else(browser, tmp_path):
    page = tmp_path / "page.html"
    script = "document.title = 1 + 1; console.log('said')"
    page.write_text(f"<link rel=icon href='data:,'><script>{script}</script>", encoding="utf-8")
    browser.open(page)
    assert browser.driver.title == "2"
    (line,) = browser.console()
    assert '"said"' in line
    assert browser.requests() == [page.as_uri()]


@pytest.mark.parametrize("width", [390, 1280])
def test_a_page_is_as_wide_as_asked(browser, tmp_path, width):
    page = tmp_path / "page.html"
    page.write_text("<meta name=viewport content='width=device-width'><p>x", encoding="utf-8")
    browser.resize(width, 700)
    browser.open(page)
    assert browser.driver.execute_script("return [innerWidth, innerHeight]") == [width, 700]
