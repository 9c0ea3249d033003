"""While many wires are laid, the page Wires says so instead of keeping its reader waiting."""

from __future__ import annotations

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import load_document
from tests.webapp.pages.forms import demo
from webapp.pages import wires


def test_the_page_tells_of_its_wires_until_they_lie(
    client: TestClient, local_app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = demo("parade_tortoise")
    document["plate"]["thickness"] += 0.25  # routes of the demo itself may be known by now
    job = load_document(document)
    page = f"/jobs/{local_app.state.store.create(job).id}/wires"
    monkeypatch.setattr(wires, "LAID_AT_ONCE", len(job.connections) - 1)
    laying = client.get(page).text
    assert f"The {len(job.connections)} wires are being laid" in laying
    assert "Cut list" not in laying
    assert "Cut list" in client.get(f"{page}?laid=1").text
    assert "Cut list" in client.get(page).text  # they lie now
