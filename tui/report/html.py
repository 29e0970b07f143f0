"""The report as one HTML file: no script, nothing fetched, and fit for printing."""

from typing import Any, Final

from .content import Content

_SIZES: Final = {"a4": ("A4", "56mm"), "letter": ("letter", "40mm")}
"""Of paper, and how high the clocks may be so that the customer's page is one."""


def html(content: Content) -> bytes:
    """The page. Whatever stands in the content is text; only pictures of our own are markup."""
    size, clock_height = _SIZES[content.paper]
    pages = {"front": content.front, "back": content.back, "photos": content.photos}
    return filled("report.html.j2", trim=True, **pages, page_size=size, clock_height=clock_height)


def filled(template: str, *, trim: bool = False, **values: Any) -> bytes:
    """One of our templates with its values, which are escaped. trim: no empty lines of its own."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("coaxly.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=trim
    )
    return environment.get_template(template).render(**values).encode("utf-8")
