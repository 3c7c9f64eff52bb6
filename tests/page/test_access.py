"""Who may see the page, and that nobody sees what is another's."""

from __future__ import annotations

import ast
import os
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash
from typer.testing import CliRunner

from planner.cli import page_command
from planner.cli.app import app
from planner.demo_data import app_file
from planner.errors import OptionError
from planner.page import access, login, solving
from planner.page.access import (
    Access,
    access_from,
    environment_of,
    header_access,
    header_visitor,
    login_visitor,
)
from planner.planning.saved_work import list_saved
from planner.store.golfers import save_golfer
from planner.store.opening import LOCAL_OWNER, open_store

PAGES = Path(access.__file__).parent
ODILE = {"is_logged_in": True, "iss": "https://id.invalid", "sub": "17", "name": "Odile Marrow"}
BRAM = {**ODILE, "sub": "18", "name": "Bram Oskel"}
AUTH = {
    "redirect_uri": "https://golf.invalid/oauth2callback",
    "cookie_secret": "f" * 64,
    "client_id": "planner",
    "client_secret": "hidden words",
    "server_metadata_url": "https://id.invalid/.well-known/openid-configuration",
}
PROXY = header_access("X-Forwarded-User", ["10.0.0.4", "fd00::/8"])


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.title]
    return "\n".join(str(part.value) for part in parts).replace("\\", "")


# -- the proxy's header -----------------------------------------------------------------------


@pytest.mark.parametrize("peer", ["10.0.0.4", "fd00::17", "::ffff:10.0.0.4"])
def test_the_proxy_is_believed(peer: str) -> None:
    visitor = header_visitor(PROXY, peer, ["odile@golf.invalid"])
    assert visitor is not None
    assert visitor.name == "odile@golf.invalid"
    assert visitor.owner != LOCAL_OWNER
    assert visitor.owner == getattr(header_visitor(PROXY, "10.0.0.4", [visitor.name]), "owner", "")


@pytest.mark.parametrize(
    ("peer", "values"),
    [
        ("10.0.0.5", ["odile"]),
        (None, ["odile"]),
        ("127.0.0.1", ["odile"]),
        ("nonsense", ["odile"]),
        ("10.0.0.4", []),
        ("10.0.0.4", [""]),
        ("10.0.0.4", ["  "]),
        ("10.0.0.4", ["odile", "bram"]),
        ("10.0.0.4", ["odile", "odile"]),
        ("10.0.0.4", ["odile\x00"]),
        ("10.0.0.4", ["o" * 201]),
    ],
)
def test_anything_else_is_not(peer: str | None, values: list[str]) -> None:
    assert header_visitor(PROXY, peer, values) is None


def test_this_computer_may_be_the_proxy() -> None:
    here = header_access("Remote-User", ["127.0.0.1"])
    assert header_visitor(here, None, ["odile"]) is not None


@pytest.mark.parametrize(
    ("header", "proxies", "said"),
    [
        ("X User", ["10.0.0.4"], "cannot be the header"),
        ("Cookie", ["10.0.0.4"], "cannot be the header"),
        ("X-User", [], "name the proxy's address"),
        ("X-User", ["proxy.invalid"], "is no IP address"),
        ("X-User", ["0.0.0.0/0"], "trusts every visitor"),
        ("X-User", ["10.0.0.4", "::/0"], "trusts every visitor"),
    ],
)
def test_headers_and_proxies_that_cannot_be_trusted(
    header: str, proxies: list[str], said: str
) -> None:
    with pytest.raises(OptionError, match=said):
        header_access(header, proxies)


def test_the_server_is_told_exactly_what_the_command_was() -> None:
    for one in (Access("login"), PROXY):
        assert access_from(environment_of(one)) == one
    assert access_from({}) == Access()


def test_a_server_that_believes_forwarded_addresses_does_not_start() -> None:
    """Or a visitor could claim to come from the proxy."""
    told = environment_of(PROXY)
    for value in (None, "*", "127.0.0.1"):
        environment = {name: text for name, text in told.items() if name != access.PEERS}
        if value is not None:
            environment[access.PEERS] = value
        with pytest.raises(OptionError, match=access.PEERS):
            access_from(environment)


def test_the_web_server_heeds_the_variable() -> None:
    uvicorn = pytest.importorskip("uvicorn")
    trusted = uvicorn.Config("x:y", proxy_headers=True, forwarded_allow_ips="").forwarded_allow_ips
    assert trusted == ""
    from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

    hosts = ProxyHeadersMiddleware(lambda *_: None, trusted_hosts="").trusted_hosts  # type: ignore[arg-type,return-value]
    assert "127.0.0.1" not in hosts
    assert "10.0.0.4" not in hosts


# -- Streamlit's login ------------------------------------------------------------------------


def test_people_are_told_apart_by_issuer_and_subject_only() -> None:
    odile, bram = login_visitor(ODILE), login_visitor(BRAM)
    renamed = login_visitor({**ODILE, "name": "somebody", "email": "x@y.invalid"})
    elsewhere = login_visitor({**ODILE, "iss": "https://other.invalid"})
    assert odile is not None
    assert bram is not None
    assert renamed is not None
    assert elsewhere is not None
    assert odile.owner == renamed.owner
    assert len({odile.owner, bram.owner, elsewhere.owner, LOCAL_OWNER}) == 4
    as_header = header_visitor(PROXY, "10.0.0.4", ["https://id.invalid\x0017"])
    assert as_header is None


@pytest.mark.parametrize("change", [{"is_logged_in": False}, {"sub": ""}, {"iss": None}])
def test_who_has_not_logged_in_is_nobody(change: dict[str, Any]) -> None:
    assert login_visitor({**ODILE, **change}) is None
    assert login_visitor({}) is None


def test_a_login_ends() -> None:
    user = {**ODILE, "iat": 1_000_000}
    assert login_visitor(user, 1_000_000 + access.LONGEST_LOGIN_S - 1) is not None
    assert login_visitor(user, 1_000_000 + access.LONGEST_LOGIN_S + 1) is None


def test_a_complete_section_has_no_fault() -> None:
    assert login.faults_in_auth(AUTH) == []
    here = {**AUTH, "redirect_uri": "http://localhost:8501/oauth2callback"}
    assert login.faults_in_auth(here) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"redirect_uri": "https://golf.invalid/"}, "oauth2callback"),
        ({"redirect_uri": "http://golf.invalid/oauth2callback"}, "https"),
        ({"cookie_secret": "short"}, "cookie_secret"),
        ({"client_id": ""}, "client_id is missing"),
        ({"client_secret": ""}, "client_secret is missing"),
        ({"server_metadata_url": "http://id.invalid/x"}, "server_metadata_url"),
        ({"server_metadata_url": ""}, "server_metadata_url is missing"),
    ],
)
def test_faults_of_the_section(change: dict[str, str], said: str) -> None:
    (fault,) = login.faults_in_auth({**AUTH, **change})
    assert said in fault
    assert "hidden words" not in fault


# -- the command ------------------------------------------------------------------------------


class Served:
    """What the command would have started."""

    def __init__(self) -> None:
        self.command: list[str] = []
        self.environment: dict[str, str] = {}

    def __call__(self, command: list[str], *, env: dict[str, str], check: bool) -> Any:
        self.command, self.environment = command, env
        return type("Done", (), {"returncode": 0})


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> Served:
    started = Served()
    monkeypatch.setattr(page_command.subprocess, "run", started)
    return started


def page_says(*options: str) -> tuple[int, str]:
    told = CliRunner().invoke(app, ["page", *options])
    return told.exit_code, told.output


def test_at_home_there_is_no_login(served: Served) -> None:
    assert page_says()[0] == 0
    assert "--server.address=127.0.0.1" in served.command
    assert access_from(served.environment) == Access()


def test_public_without_login_is_refused(
    served: Served, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(login, "login_faults", lambda: ["there is no secrets.toml"])
    code, said = page_says("--public", "--address", "0.0.0.0")
    assert code == 2
    assert "there is no secrets.toml" in said
    assert "--user-header" in said
    assert served.command == []


def test_public_with_login(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(login, "login_faults", lambda: [])
    assert page_says("--public")[0] == 0
    assert access_from(served.environment) == Access("login")
    assert f"--server.maxUploadSize={page_command.PUBLIC_UPLOAD_MB}" in served.command


def test_public_behind_a_proxy(served: Served) -> None:
    options = ("--user-header", "X-User", "--trusted-proxy", "10.0.0.4")
    assert page_says("--public", *options)[0] == 0
    assert access_from(served.environment) == header_access("X-User", ["10.0.0.4"])


@pytest.mark.parametrize(
    "options",
    [
        ("--user-header", "X-User", "--trusted-proxy", "10.0.0.4"),
        ("--public", "--user-header", "X-User"),
        ("--public", "--trusted-proxy", "10.0.0.4"),
        ("--public", "--user-header", "X-User", "--trusted-proxy", "0.0.0.0/0"),
        ("--address", "unix:///run/planner"),
    ],
)
def test_options_that_do_not_fit_together(served: Served, options: tuple[str, ...]) -> None:
    assert page_says(*options)[0] == 2
    assert served.command == []


def test_what_the_shell_has_does_not_open_a_page_at_home(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(access.ACCESS, "login")
    assert page_says()[0] == 0
    assert access_from(served.environment) == Access()


# -- the page ---------------------------------------------------------------------------------


@pytest.fixture
def public(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name, value in environment_of(Access("login")).items():
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("PLANNER_STORE", str(tmp_path / "store.sqlite"))


def visit(user: dict[str, Any] | None) -> AppTest:
    page = AppTest.from_file(str(app_file()), default_timeout=60)
    if user is not None:
        page.user = user
    return page.run()


@pytest.mark.usefixtures("public", "quick")
def test_nobody_sees_anything_without_a_login() -> None:
    page = visit({"is_logged_in": False})
    assert not page.exception
    assert "Log in to see" in shown(page)
    assert not page.selectbox
    assert not page.metric


@pytest.mark.usefixtures("quick")
def test_nobody_comes_round_the_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in environment_of(PROXY).items():
        monkeypatch.setenv(name, value)
    page = visit(None)
    assert not page.exception
    assert "reached through its login only" in shown(page)
    assert not page.selectbox


@pytest.mark.usefixtures("public", "quick")
def test_who_is_logged_in_sees_the_page_and_his_name() -> None:
    page = visit({**ODILE, "name": "<b>Odile</b> *Marrow*"})
    assert not page.exception
    assert page.metric
    said = "\n".join(str(part.value) for part in page.caption)
    assert r"You are \<b\>Odile\</b\> \*Marrow\*." in said


@pytest.mark.usefixtures("public", "quick")
def test_a_session_taken_up_by_another_starts_anew() -> None:
    page = visit(ODILE)
    page.session_state["bag_edits"] = {"somebody's": []}
    page.run()
    assert "somebody's" in page.session_state["bag_edits"]
    page.user = BRAM
    page.run()
    assert not page.exception
    assert "bag_edits" not in page.session_state or not page.session_state["bag_edits"].get(
        "somebody's"
    )


@pytest.mark.usefixtures("public", "quick")
def test_a_round_is_found_and_stopped_by_its_owner_only() -> None:
    mine, other = visit(ODILE), visit(BRAM)
    keys = [getattr(login_visitor(user), "owner", "") for user in (ODILE, BRAM)]
    for page in (mine, other):
        page._page_hash = calc_hash("round")
        page.run()
    mine.button(key="plan_round").click().run()
    jobs = solving.round_jobs()
    started = [key for key in jobs._jobs if key.startswith(keys[0])]
    assert len(started) == 1
    assert not any(key.startswith(keys[1]) for key in jobs._jobs)
    other.run()
    assert other.button(key="plan_round"), "the same round of another is not shown as his"


def at_log(user: dict[str, Any]) -> AppTest:
    page = visit(user)
    page._page_hash = calc_hash("log")
    return page.run()


def add_tee_shot(page: AppTest, club: str) -> None:
    next(w for w in page.button_group if str(w.key).startswith("log_club/")).set_value(club).run()
    page.button(key="log_add").click().run()
    assert not page.exception


@pytest.mark.usefixtures("public", "quick")
def test_two_visitors_log_the_same_round_each_for_himself() -> None:
    """The same demo golfer, course and day: only the owner tells them apart."""
    odile, bram = at_log(ODILE), at_log(BRAM)
    add_tee_shot(odile, "Driver")
    add_tee_shot(bram, "3 wood")
    bram.button(key="log_undo").click().run()
    add_tee_shot(bram, "5 wood")
    for user, own, other in ((ODILE, "Driver", "5 wood"), (BRAM, "5 wood", "Driver")):
        # Another tab, so that what is shown comes from the store.
        page = at_log(user)
        said = "\n".join(str(part.value) for part in page.markdown).replace("\\", "")
        assert f"1. tee: {own}" in said
        assert f"1. tee: {other}" not in said
    with open_store(os.environ["PLANNER_STORE"]) as store:
        assert list_saved(store) == [], "nothing lies where a page at home would look"
        for user in (ODILE, BRAM):
            kinds = [one.kind for one in list_saved(store, owner=owner_of(user))]
            assert kinds == ["golfer", "round"]


def owner_of(user: dict[str, Any]) -> str:
    visitor = login_visitor(user)
    assert visitor is not None
    return visitor.owner


@pytest.mark.usefixtures("public", "quick")
def test_changes_of_a_bag_stay_with_who_made_them() -> None:
    """Patterns fitted on the shots page change the bag of that visitor only."""
    odile, bram = visit(ODILE), visit(BRAM)
    for page in (odile, bram):
        page.selectbox(key="bag").set_value("odile_marrow").run()
        page._page_hash = calc_hash("shots")
        page.run()
        assert not page.exception
    odile.button(key="use_patterns").click().run()
    assert not odile.exception
    changed = [
        any("bag changed" in str(c.value) for c in page.run().caption)
        for page in (odile, bram, visit(BRAM), visit(ODILE))
    ]
    assert changed == [True, False, False, False]


def test_stores_are_asked_for_the_owners_things_only(tmp_path: Path) -> None:
    with open_store(tmp_path / "store.sqlite") as store:
        owners = [getattr(login_visitor(user), "owner", "") for user in (ODILE, BRAM)]
        for one, name in zip(owners, ("Odile Marrow", "Bram Oskel"), strict=True):
            with store.writing(one) as work:
                save_golfer(work, name)
        assert [[thing.name for thing in list_saved(store, owner=one)] for one in owners] == [
            ["Odile Marrow"],
            ["Bram Oskel"],
        ]
        assert list_saved(store) == []


def test_no_page_names_an_owner_itself() -> None:
    """Everything that is saved or found goes by ``access.owner()``."""
    faults = []
    for path in PAGES.glob("*.py"):
        if path.name == "access.py":
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and any(
                alias.name == "LOCAL_OWNER" for alias in node.names
            ):
                faults.append(f"{path.name} imports LOCAL_OWNER")
            if isinstance(node, ast.Call) and _asks_the_store(node):
                faults.append(f"{path.name}:{node.lineno} leaves the owner out")
    assert faults == []


STORE_USES = {
    *("reading", "writing", "list_saved", "content_of", "open_bag", "open_course", "save_file"),
    *("delete_saved", "undoable", "undo_last", "export_to", "import_from", "rounds_of"),
    "keep_round",
}


def _asks_the_store(call: ast.Call) -> bool:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if name not in STORE_USES:
        return False
    return (not call.args and name in {"reading", "writing"}) or (
        name not in {"reading", "writing"}
        and not any(keyword.arg == "owner" for keyword in call.keywords)
    )


def test_environment_of_the_tests_is_a_home() -> None:
    assert access_from(os.environ) == Access()
