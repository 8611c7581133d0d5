"""The body of a form: bounded, UTF-8, and read without any package for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated
from urllib.parse import parse_qsl, urlsplit

from fastapi import Depends, Request

from api.http.refusals import Refusal, WrongMediaType

MOST_FIELDS = 1000
_KIND = "application/x-www-form-urlencoded"


class FormRefused(Refusal):
    """The form cannot be read."""

    problem_type = "/problems/form-refused"
    status = 400
    title = "The form cannot be read"


class FromElsewhere(Refusal):
    """The form was sent by a page of another site."""

    problem_type = "/problems/from-elsewhere"
    status = 403
    title = "Sent from another site"


class Form:
    """What a form sent: name -> values, in order. A name that was not sent has no value."""

    def __init__(self, values: Mapping[str, Sequence[str]]) -> None:
        self.values = values

    @classmethod
    def of(cls, body: bytes) -> Form:
        """Return what a body says. Raises FormRefused.

        >>> Form.of(b"said=no+arc&surface=rust&surface=oil").all("surface")
        ['rust', 'oil']
        """
        try:
            pairs = parse_qsl(
                body.decode("ascii"),
                keep_blank_values=True,
                errors="strict",
                max_num_fields=MOST_FIELDS,
            )
        except ValueError:
            step = "Go back, and send the page as it came."
            raise FormRefused("it is not a form in UTF-8", where="body", next_step=step) from None
        values: dict[str, list[str]] = {}
        for name, value in pairs:
            values.setdefault(name, []).append(value.replace("\r\n", "\n"))
        return cls(values)

    def one(self, name: str) -> str:
        """Return the last value of a name without outer space, '' where there is none."""
        return self.values.get(name, [""])[-1].strip()

    def all(self, name: str) -> list[str]:
        """Return the values of a name that say something."""
        return [value for value in self.values.get(name, ()) if value.strip()]


async def form_of(request: Request) -> Form:
    """Return the form a request brings. Raises WrongMediaType, FormRefused, FromElsewhere."""
    refuse_from_elsewhere(request)
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != _KIND:
        raise WrongMediaType(
            "the page sends its forms as the browser does",
            where="Content-Type",
            next_step="To send JSON, use /v1/diagnoses.",
        )
    return Form.of(await request.body())


def refuse_from_elsewhere(request: Request) -> None:
    """Raise FromElsewhere where the browser says that another site's page sent this.

    Every browser sends Origin with a form. What sends neither header is no browser, so nobody's
    cookie or network place can be abused by it.
    """
    headers = request.headers
    site = headers.get("sec-fetch-site", "same-origin")
    origin = headers.get("origin")
    elsewhere = origin is not None and urlsplit(origin).netloc != headers.get("host", "")
    if site not in ("same-origin", "none") or elsewhere:
        raise FromElsewhere(
            "another site's page sent this",
            where="Origin",
            next_step="Open the page here and enter it yourself.",
        )


SentForm = Annotated[Form, Depends(form_of)]
