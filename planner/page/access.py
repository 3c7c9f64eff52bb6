"""Who is looking at the page, and what is his.

At home there is no login and everything belongs to one owner. A public page knows its visitors
either by Streamlit's own login (OpenID Connect) or by a header that a reverse proxy writes; the
header is believed only where the connection comes from that proxy's address. Nothing is shown to
anybody else.
"""

from __future__ import annotations

import hashlib
import os
import re
import time
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from typing import Literal

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from planner.errors import OptionError
from planner.page.plain import plain
from planner.page.upload_room import let_in_here
from planner.store.opening import LOCAL_OWNER

__all__ = [
    "SERVER",
    "Access",
    "Visitor",
    "access_from",
    "admitted",
    "environment_of",
    "header_access",
    "header_visitor",
    "is_public",
    "login_visitor",
    "owner",
    "turn_name",
]

ACCESS, USER_HEADER, TRUSTED = "PLANNER_ACCESS", "PLANNER_USER_HEADER", "PLANNER_TRUSTED_PROXIES"
"""Environment variables in which the command tells the page's server how it is served."""
PEERS = "FORWARDED_ALLOW_IPS"
"""Environment variable of the web server uvicorn: whose ``X-Forwarded-For`` replaces the address of
a connection. It must be set and empty, or a visitor could claim the proxy's address."""
LONGEST_LOGIN_S = 24 * 3600.0
"""After this a login is asked for again [s]; Streamlit itself keeps one for 30 days."""
MOST_CHARACTERS = 200
"""Of a user's name in the header."""
_HEADER = re.compile(r"[A-Za-z0-9!#$%&'*+.^_`|~-]{1,64}")
"""Name of a header field (RFC 9110, section 5.6.2, a token)."""
_FORBIDDEN = frozenset({"host", "cookie", "origin", "connection", "upgrade", "user-agent"})
"""Headers that every browser writes itself."""
LOOPBACK = "127.0.0.1"
SERVER = "server"
"""Whose turn it is where the server itself works, before anybody has come."""
_SESSION, _SEEN = "planner_session", "planner_owner"

Network = IPv4Network | IPv6Network


@dataclass(frozen=True)
class Access:
    """How the page is served.

    Parameters
    ----------
    kind
        ``"local"`` for one person at home, ``"login"`` or ``"header"`` for the public.
    header
        Name of the header with the user's name.
    proxies
        Networks from which that header is believed.
    """

    kind: Literal["local", "login", "header"] = "local"
    header: str = ""
    proxies: tuple[Network, ...] = ()

    @property
    def public(self) -> bool:
        """Whether strangers may come."""
        return self.kind != "local"


@dataclass(frozen=True)
class Visitor:
    """Somebody who may see the page: whose things are his, and what he is called."""

    owner: str
    name: str = ""


def header_access(header: str, proxies: Sequence[str]) -> Access:
    """Access by a reverse proxy's header.

    Raises
    ------
    OptionError
        The header or an address cannot be used; names every one.
    """
    problems = []
    if not _HEADER.fullmatch(header) or header.lower() in _FORBIDDEN:
        problems.append(f'"{header[:64]}" cannot be the header with the user\'s name')
    networks: list[Network] = []
    for text in proxies:
        try:
            networks.append(ip_network(text.strip(), strict=False))
        except ValueError:
            problems.append(f'"{text[:64]}" is no IP address or network, such as 10.0.0.4 or ::1')
    if not proxies:
        problems.append("name the proxy's address: without one any visitor could write the header")
    if any(network.prefixlen == 0 for network in networks):
        problems.append("a network of all addresses trusts every visitor; name the proxy's own")
    if problems:
        raise OptionError("; ".join(problems))
    return Access("header", header, tuple(networks))


def environment_of(access: Access) -> dict[str, str]:
    """Environment variables that tell a server how it is served."""
    return {
        ACCESS: access.kind,
        USER_HEADER: access.header,
        TRUSTED: ",".join(map(str, access.proxies)),
        PEERS: "",
    }


def access_from(environment: Mapping[str, str]) -> Access:
    """Access as a server was told.

    Raises
    ------
    OptionError
        What it was told does not fit together.
    """
    kind = environment.get(ACCESS, "local")
    if kind == "local":
        return Access()
    if environment.get(PEERS) != "":
        raise OptionError(f"{PEERS} must be set and empty; start the page with `planner page`")
    if kind == "login":
        return Access("login")
    if kind == "header":
        proxies = [part for part in environment.get(TRUSTED, "").split(",") if part]
        return header_access(environment.get(USER_HEADER, ""), proxies)
    raise OptionError(f"{ACCESS} is {kind!r:.40}, not local, login or header")


def header_visitor(access: Access, peer: str | None, values: Sequence[str]) -> Visitor | None:
    """Who a reverse proxy says is there; None if it is not the proxy that says so.

    Parameters
    ----------
    peer
        Address from which the connection comes; None for this computer itself.
    values
        Every value of the header. A proxy that adds its value to a visitor's own would give two:
        then neither is believed.
    """
    try:
        address: IPv4Address | IPv6Address = ip_address(peer or LOOPBACK)
    except ValueError:
        return None
    mapped = getattr(address, "ipv4_mapped", None)
    if not any((mapped or address) in network for network in access.proxies):
        return None
    if len(values) != 1:
        return None
    name = values[0].strip()
    if not name or len(name) > MOST_CHARACTERS or not name.isprintable():
        return None
    return Visitor(_owner_id("header", name), name)


def login_visitor(user: Mapping[str, object], now_s: float | None = None) -> Visitor | None:
    """Who has logged in, and if ``now_s`` is given not too long before it [s since 1970].

    A person is known by issuer and subject, which alone never change (OpenID Connect Core 1.0,
    section 5.7).
    """
    issuer, subject, since = user.get("iss"), user.get("sub"), user.get("iat")
    if user.get("is_logged_in") is not True or not issuer or not subject:
        return None
    if now_s is not None and isinstance(since, int | float) and now_s - since > LONGEST_LOGIN_S:
        return None
    name = next((str(user[key]) for key in ("name", "email") if user.get(key)), "")
    return Visitor(_owner_id("login", str(issuer), str(subject)), name[:MOST_CHARACTERS])


def admitted() -> Visitor | None:
    """Who is there; None, and said on the page, if he may not see it.

    Called first by every run of the page.
    """
    access = access_from(os.environ)
    visitor = _visitor(access, time.time())
    if visitor is None:
        _refuse(access)
        return None
    # A connection taken up by somebody else must not find what the one before has entered.
    if st.session_state.setdefault(_SEEN, visitor.owner) != visitor.owner:
        st.session_state.clear()
        st.session_state[_SEEN] = visitor.owner
    if access.public:
        let_in_here(visitor.owner)
        with st.sidebar:
            st.caption(f"You are {plain(visitor.name or 'logged in')}.")
            if access.kind == "login":
                st.button("Log out", key="logout", on_click=st.logout)
    return visitor


def owner() -> str:
    """Owner of everything that is saved or found for whoever is there.

    Raises
    ------
    PermissionError
        Nobody may be there; the page asks :func:`admitted` first.
    """
    visitor = _visitor(access_from(os.environ))
    if visitor is None:
        raise PermissionError("nobody is logged in")
    return visitor.owner


def turn_name() -> str:
    """Whose turn it is where work is shared out: the person's, or at home the browser tab's."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return SERVER
    mine = owner()
    if mine != LOCAL_OWNER:
        return mine
    return str(st.session_state.setdefault(_SESSION, uuid.uuid4().hex))


def is_public() -> bool:
    """Whether strangers may come."""
    return access_from(os.environ).public


def _visitor(access: Access, now_s: float | None = None) -> Visitor | None:
    if access.kind == "local":
        return Visitor(LOCAL_OWNER)
    if access.kind == "login":
        return login_visitor(st.user.to_dict(), now_s)
    values = st.context.headers.get_all(access.header)
    return header_visitor(access, st.context.ip_address, values)


def _refuse(access: Access) -> None:
    st.title("Course plan")
    if access.kind == "login":
        st.markdown("Log in to see your courses, bags and plans.")
        st.button("Log in", type="primary", key="login", on_click=st.login)
        return
    st.error("This page is reached through its login only. Open it by the address you were given.")


def _owner_id(*parts: str) -> str:
    """Name of an owner in the store: the same for the same person, and says nothing of him."""
    digest = hashlib.sha256("\0".join(parts).encode()).hexdigest()
    return f"{parts[0]}-{digest[:40]}"
