"""Who is refused: other sites, other names for this machine, and whoever lacks the token."""

import pytest

from .conftest import PORT, TOKEN

OURS = f"http://127.0.0.1:{PORT}"
FOREIGN = {
    "host": {"host": "evil.example"},
    "host that ends as ours": {"host": f"evil.example:{PORT}"},
    "our host at another port": {"host": f"127.0.0.1:{PORT + 1}"},
    "no port": {"host": "127.0.0.1"},
    "origin": {"origin": "https://evil.example"},
    "origin on this machine": {"origin": f"http://127.0.0.1:{PORT + 1}"},
    "origin that hides": {"origin": "null"},
    "site": {"sec-fetch-site": "cross-site"},
    "site beside ours": {"sec-fetch-site": "same-site"},
}
PATHS = ["", "instruments/", "score/0/state", "scores", "end"]


@pytest.mark.parametrize("name", FOREIGN)
@pytest.mark.parametrize("path", PATHS)
def test_what_is_foreign_is_refused_although_it_has_the_token(page, name, path):
    assert page.get(path, headers=FOREIGN[name]).status_code == 403
    assert page.post(path, headers=FOREIGN[name]).status_code == 403
    assert len(page.desk.shelf) == 0


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost"])
def test_our_own_pages_are_served(page, name):
    host = f"{name}:{PORT}"
    headers = {"host": host, "origin": f"http://{host}", "sec-fetch-site": "same-origin"}
    assert page.get(headers=headers).status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/favicon.ico",
        f"/{TOKEN}",
        f"/{TOKEN[:-1]}/",
        f"/{TOKEN}x/",
        "/%74oken-of-a-test/",
        f"//{TOKEN}/",
        "/score/0/",
        f"/../{TOKEN}",
        "/token/",
    ],
)
def test_without_the_token_nothing_is_served(page, path):
    answer = page.client.get(path)
    assert answer.status_code == 403
    assert TOKEN not in answer.text


@pytest.mark.parametrize("path", ["", "nothing", "instruments/", "score/none/", "scores"])
def test_every_answer_forbids_what_it_does_not_need(page, path):
    headers = page.get(path).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert headers["x-frame-options"] == "DENY"
    policy = dict(each.split(maxsplit=1) for each in headers["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in str(policy)
    assert "http" not in str(policy)


def test_a_refusal_names_no_score_and_sets_nothing(page):
    answer = page.client.get("/", headers={"host": "evil.example"})
    assert answer.text == "Only pages on this machine are served.\n"
    assert "set-cookie" not in answer.headers
