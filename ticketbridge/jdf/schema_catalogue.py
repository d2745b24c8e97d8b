"""Our schemas: where they lie, and their two validators.

lxml decides, because it is fast. xmlschema explains what lxml refused, because it knows every type by name;
it is loaded on first need. lxml's error log belongs to the schema object, so each thread has its own. They are
loaded one after the other: the first makes libxml2 set up its built-in types, and two at once can leave a process
in which no schema loads any more (one start in forty of six threads together, libxml2 2.14).
"""

import threading
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

import ticketbridge

if TYPE_CHECKING:
    import xmlschema

_PACKAGE = Path(ticketbridge.__file__).parent
_own = threading.local()
_loading = threading.Lock()


@cache
def schemas_folder() -> Path:
    """Where the schemas lie: in the installed package, or beside it in a checkout."""
    shipped = _PACKAGE / "shipped" / "schemas"
    return shipped if shipped.is_dir() else _PACKAGE.parent / "schemas"


def schema_file(name: str) -> Path:
    """One of our schema files."""
    return schemas_folder() / name


def schema(root_name: str) -> etree.XMLSchema:
    """This thread's schema for documents whose root is ``JDF`` or ``JMF``."""
    schemas: dict[str, etree.XMLSchema] = _own.__dict__.setdefault("schemas", {})
    if root_name not in schemas:
        with _loading:
            schemas[root_name] = etree.XMLSchema(etree.parse(str(schema_file(f"{root_name.lower()}.xsd"))))
    return schemas[root_name]


def explaining_schema(root_name: str) -> "xmlschema.XMLSchema":
    """The same schema in xmlschema; loading takes a third of a second."""
    with _loading:
        return _explaining_schema(root_name)


@cache
def _explaining_schema(root_name: str) -> "xmlschema.XMLSchema":
    import xmlschema

    return xmlschema.XMLSchema(str(schema_file(f"{root_name.lower()}.xsd")), allow="local")
