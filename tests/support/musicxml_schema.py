"""The MusicXML 4.0 schema of the W3C, as the PyPI package ``musicxml`` (1.6.3, MIT) ships it."""

from __future__ import annotations

from functools import cache
from importlib.metadata import files
from io import BytesIO
from typing import Any

from lxml import etree

# attributes of the namespaces that the schema imports by address: XML 1.0 and XLink 1.1 (W3C)
IMPORTED = {
    "xml.xsd": """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
        targetNamespace="http://www.w3.org/XML/1998/namespace">
        <xs:attribute name="lang" type="xs:language"/>
        <xs:attribute name="space"><xs:simpleType><xs:restriction base="xs:NCName">
            <xs:enumeration value="default"/><xs:enumeration value="preserve"/>
        </xs:restriction></xs:simpleType></xs:attribute></xs:schema>""",
    "xlink.xsd": """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
        targetNamespace="http://www.w3.org/1999/xlink">
        <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:token" fixed="simple"/>
        <xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
        <xs:attribute name="show" type="xs:token"/><xs:attribute name="actuate" type="xs:token"/>
        </xs:schema>""",
}


class _Imports(etree.Resolver):
    def resolve(self, system_url: str, public_id: str, context: Any) -> Any:
        for name, text in IMPORTED.items():
            if system_url.endswith(name):
                return self.resolve_string(text, context)
        return None


@cache
def musicxml_schema() -> etree.XMLSchema:
    """The schema, ready to validate; no network is used."""
    found = next(one for one in files("musicxml") or () if one.name == "musicxml_4_0.xsd")
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imports())
    return etree.XMLSchema(etree.parse(BytesIO(found.read_binary()), parser))


def assert_valid(musicxml: bytes) -> None:
    """Fail with the schema's own words where a document does not hold."""
    schema = musicxml_schema()
    assert schema.validate(etree.fromstring(musicxml)), "\n".join(str(error) for error in schema.error_log)
