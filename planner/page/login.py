"""Whether Streamlit's own login is set up, found out before a page is served."""

from __future__ import annotations

import importlib.metadata
import re
from collections.abc import Mapping
from typing import Any

import streamlit as st
from streamlit import config
from streamlit.errors import StreamlitSecretNotFoundError

__all__ = ["faults_in_auth", "login_faults"]

NEEDED = ("client_id", "client_secret", "server_metadata_url")
"""Keys of a provider (Streamlit's documentation of ``st.login``)."""
LEAST_AUTHLIB = (1, 3, 2)
"""Streamlit logs nobody in with an older Authlib."""
SHORTEST_SECRET = 32
"""Characters of the secret that signs the cookie: 128 bits in hexadecimal digits."""


def login_faults() -> list[str]:
    """What keeps people from logging in; empty if nothing does."""
    faults = []
    try:
        version = importlib.metadata.version("authlib")
    except importlib.metadata.PackageNotFoundError:
        faults.append("Authlib is not installed: pip install 'planner[public]'")
    else:
        if tuple(map(int, re.findall(r"\d+", version)[:3])) < LEAST_AUTHLIB:
            faults.append(f"Authlib {version} is too old: pip install --upgrade Authlib")
    try:
        secrets = st.secrets.to_dict()
    except (StreamlitSecretNotFoundError, FileNotFoundError):
        looked = ", ".join(config.get_option("secrets.files"))
        return [*faults, f"there is no secrets.toml (looked for {looked})"]
    except ValueError as error:
        return [*faults, f"secrets.toml cannot be read: {error}"]
    return [*faults, *faults_in_auth(secrets.get("auth"))]


def faults_in_auth(auth: Any) -> list[str]:
    """What is wrong with the section ``[auth]`` of the secrets; values are never repeated."""
    if not isinstance(auth, Mapping):
        return ["secrets.toml has no section [auth]"]
    faults = []
    redirect = str(auth.get("redirect_uri", ""))
    if not redirect.endswith("/oauth2callback"):
        faults.append("[auth] redirect_uri must be the page's address and /oauth2callback")
    elif not redirect.startswith("https://") and not _is_this_computer(redirect):
        faults.append("[auth] redirect_uri must begin with https://, or the cookie can be stolen")
    if len(str(auth.get("cookie_secret", ""))) < SHORTEST_SECRET:
        faults.append(f"[auth] cookie_secret must have {SHORTEST_SECRET} random characters or more")
    # The page logs in with the provider that stands in [auth] itself.
    faults += [f"[auth] {key} is missing" for key in NEEDED if not auth.get(key)]
    metadata = str(auth.get("server_metadata_url", ""))
    if metadata and not metadata.startswith("https://") and not _is_this_computer(metadata):
        faults.append("[auth] server_metadata_url must begin with https://")
    return faults


def _is_this_computer(url: str) -> bool:
    return re.match(r"http://(localhost|127\.0\.0\.1|\[::1\])[:/]", url) is not None
