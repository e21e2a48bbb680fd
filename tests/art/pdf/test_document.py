"""What a PDF says of itself: claims, intents, encryption, fonts, annotations, active parts."""

from __future__ import annotations

import io
import zlib
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from prepcheck.art.facts import FontFacts
from prepcheck.art.limits import Limits
from prepcheck.art.model import Artwork
from prepcheck.art.open import open_art
from prepcheck.errors import PasswordError, UnreadableError
from prepcheck.geometry import Affine
from tests.factories import PT, Pdf, Raw, Stream, one_page

Entries = dict[str, object]


def opened(folder: Path, source: Pdf | bytes) -> Artwork:
    path = folder / "art.pdf"
    path.write_bytes(source.bytes() if isinstance(source, Pdf) else source)
    return open_art(path)


def plain(version: str = "1.6", **entries: object) -> Pdf:
    pdf = Pdf(version)
    pdf.page("0 0 10 10 re f", (100, 100), **entries)  # type: ignore[arg-type]
    return pdf


class TestClaims:
    def test_nothing_said(self, tmp_path: Path) -> None:
        facts = opened(tmp_path, plain()).document
        assert (facts.version, facts.pdfx, facts.trapped, facts.encrypted) == (
            "1.6",
            None,
            None,
            False,
        )
        assert facts.troubles == ()

    @pytest.mark.parametrize(
        ("header", "catalog", "expected"), [("1.3", "1.7", "1.7"), ("1.7", "1.4", "1.7")]
    )
    def test_later_version_counts(
        self, tmp_path: Path, header: str, catalog: str, expected: str
    ) -> None:
        pdf = plain(header)
        pdf.catalog["Version"] = catalog
        assert opened(tmp_path, pdf).document.version == expected

    @pytest.mark.parametrize(
        ("info", "claim"),
        [
            # Strings as ISO 15930-1 to -6 have them
            ({"GTS_PDFXVersion": b"PDF/X-3:2002"}, "PDF/X-3:2002"),
            (
                {
                    "GTS_PDFXVersion": b"PDF/X-1:2001",
                    "GTS_PDFXConformance": b"PDF/X-1a:2001",
                },
                "PDF/X-1a:2001",
            ),
            ({"GTS_PDFXVersion": b"PDF/X-1a:2003"}, "PDF/X-1a:2003"),
        ],
    )
    def test_pdfx_in_info(self, tmp_path: Path, info: Entries, claim: str) -> None:
        pdf = plain()
        pdf.info |= {**info, "Trapped": "False", "Producer": b"Some producer"}
        facts = opened(tmp_path, pdf).document
        assert (facts.pdfx, facts.trapped, facts.producer) == (claim, "False", "Some producer")

    @pytest.mark.parametrize("element", [True, False])
    @pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
    def test_pdfx_in_xmp(self, tmp_path: Path, element: bool, encoding: str) -> None:
        said = (
            "<rdf:Description><pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>"
            "<pdf:Trapped>True</pdf:Trapped></rdf:Description>"
            if element
            else "<rdf:Description pdfxid:GTS_PDFXVersion='PDF/X-4' pdf:Trapped=\"True\"/>"
        )
        pdf = plain()
        pdf.catalog["Metadata"] = pdf.add(
            Stream(said.encode(encoding), {"Type": "Metadata", "Subtype": "XML"}, deflate=True)
        )
        facts = opened(tmp_path, pdf).document
        assert (facts.pdfx, facts.trapped) == ("PDF/X-4", "True")

    def test_two_claims_that_differ(self, tmp_path: Path) -> None:
        pdf = plain()
        pdf.info["GTS_PDFXVersion"] = b"PDF/X-3:2002"
        packet = b"<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>"
        pdf.catalog["Metadata"] = pdf.add(Stream(packet))
        facts = opened(tmp_path, pdf).document
        assert facts.pdfx == "PDF/X-4"
        assert any("PDF/X-3:2002" in trouble for trouble in facts.troubles)

    def test_output_intent(self, tmp_path: Path) -> None:
        pdf = plain()
        profile = bytes(36) + b"acsp" + bytes(88)
        pdf.catalog["OutputIntents"] = [
            {
                "Type": "OutputIntent",
                "S": "GTS_PDFX",
                "OutputConditionIdentifier": b"FOGRA39",
                "Info": b"Coated",
                "RegistryName": b"http://www.color.org",
                "DestOutputProfile": pdf.add(Stream(profile, {"N": 4}, deflate=True)),
            },
            {"S": "GTS_PDFA1", "OutputConditionIdentifier": "X".encode("utf-16")},
        ]
        first, second = opened(tmp_path, pdf).document.output_intents
        assert (first.subtype, first.condition, first.info) == ("GTS_PDFX", "FOGRA39", "Coated")
        assert (first.registry, first.profile) == ("http://www.color.org", profile)
        assert (second.subtype, second.condition, second.has_profile) == ("GTS_PDFA1", "X", False)


class TestEncryption:
    @pytest.mark.parametrize("method", ["RC4-40", "RC4-128", "AES-128", "AES-256"])
    @pytest.mark.parametrize("password", ["", "secret"])
    def test_with_and_without_a_password(self, tmp_path: Path, method: str, password: str) -> None:
        """Written by pypdf: an empty user password opens for everyone and is read on."""
        writer = PdfWriter(PdfReader(io.BytesIO(one_page("0 0 50 50 re f", (100, 100)))))
        writer.encrypt(password, "owner", algorithm=method)
        out = io.BytesIO()
        writer.write(out)
        if password:
            with pytest.raises(PasswordError, match=r"^art.pdf: .*password"):
                opened(tmp_path, out.getvalue())
            return
        art = opened(tmp_path, out.getvalue())
        assert art.document.encrypted
        (path,) = art.pages[0].content(Affine.identity()).paths
        assert tuple(path.box) == pytest.approx((0, 0, 50, 50), abs=1e-3)

    def test_unknown_handler(self, tmp_path: Path) -> None:
        pdf = plain()
        pdf.trailer["Encrypt"] = pdf.add({"Filter": "Own.Locks", "V": 5, "R": 9})
        with pytest.raises(UnreadableError, match=r"^art.pdf: "):
            opened(tmp_path, pdf)


class TestFonts:
    def test_embedded_subset_and_standard(self, tmp_path: Path) -> None:
        pdf = Pdf()
        program = pdf.add(Stream(b"font"))
        fonts: Entries = {
            "F1": {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"},
            "F2": {
                "Subtype": "TrueType",
                "BaseFont": "ABCDEF+Label",
                "FontDescriptor": {"FontFile2": program},
            },
            "F3": {
                "Subtype": "Type0",
                "BaseFont": "Songs",
                "DescendantFonts": [
                    {"Subtype": "CIDFontType0", "FontDescriptor": {"FontFile3": program}}
                ],
            },
            "F4": {"Subtype": "Type3", "Name": "Drawn", "CharProcs": {}},
            "F5": {"Subtype": "TrueType", "BaseFont": "Loose", "FontDescriptor": {}},
        }
        pdf.page("", (100, 100), resources={"Font": fonts})
        assert opened(tmp_path, pdf).pages[0].fonts == (
            FontFacts("Drawn", "Type3", True),
            FontFacts("Helvetica", "Type1", False),
            FontFacts("Label", "TrueType", True),
            FontFacts("Loose", "TrueType", False),
            FontFacts("Songs", "CIDFontType0", True),
        )

    def test_found_wherever_they_hide(self, tmp_path: Path) -> None:
        pdf = Pdf()

        def holder(name: str, **entries: object) -> Entries:
            font: Entries = {"Subtype": "Type1", "BaseFont": name}
            return {"Resources": {"Font": {"F": font}}, **entries}

        def form(name: str, **more: object) -> object:
            return pdf.add(Stream(b"", {"Subtype": "Form", **holder(name), **more}))

        inner = form("InForm")
        outer = pdf.add(Stream(b"", {"Subtype": "Form", "Resources": {"XObject": {"X": inner}}}))
        resources: Entries = {
            "XObject": {"X": outer},
            "Pattern": {"P": form("InPattern", PatternType=1)},
            "Font": {"T": {"Subtype": "Type3", "Name": "T3", **holder("InType3")}},
            "ExtGState": {
                "G": {"SMask": {"S": "Alpha", "G": form("InMask")}},
                "H": {"Font": [{"Subtype": "Type1", "BaseFont": "InState"}, 10]},
            },
        }
        pdf.page(
            "", (100, 100), resources=resources,
            Annots=[{"Subtype": "Widget", "AP": {"N": {"On": form("InAppearance")}}}],
        )  # fmt: skip
        names = {font.name for font in opened(tmp_path, pdf).pages[0].fonts}
        assert names == {
            "InForm", "InPattern", "InType3", "InMask", "InState", "InAppearance", "T3",
        }  # fmt: skip


def test_annotations_in_the_displayed_frame(tmp_path: Path) -> None:
    pdf = plain(
        Rotate=90,
        MediaBox=[0, 0, 100 * PT, 200 * PT],
        Annots=[
            {"Subtype": "Stamp", "Rect": [10 * PT, 20 * PT, 30 * PT, 50 * PT], "F": 4},
            {"Subtype": "Text", "Rect": [0, 0, 1, 1]},
            {"Subtype": "Square", "Rect": [0, 0, 1, 1], "F": 6},
            {"Subtype": "Popup", "Rect": [0, 0, 1, 1], "F": 4},
        ],
    )
    annotations = opened(tmp_path, pdf).pages[0].annotations
    assert [(a.subtype, a.prints) for a in annotations] == [
        ("Stamp", True),
        ("Text", False),
        ("Square", False),
        ("Popup", False),
    ]
    # Turned clockwise: x' = y, y' = 100 - x.
    assert tuple(annotations[0].box) == pytest.approx((20, 70, 50, 90), abs=1e-3)


class TestActive:
    def test_quiet_file(self, tmp_path: Path) -> None:
        pdf = plain(Annots=[{"Subtype": "Link", "A": {"S": "URI", "URI": b"https://x.example"}}])
        pdf.catalog["OpenAction"] = Raw("[3 0 R /Fit]")
        facts = opened(tmp_path, pdf).document
        assert (facts.scripts, facts.form_fields, facts.embedded_files, facts.media) == (
            (),
            0,
            (),
            (),
        )

    def test_scripts_and_actions(self, tmp_path: Path) -> None:
        script: Entries = {"S": "JavaScript", "JS": b"app.alert(1)"}
        pdf = plain(
            AA={"O": script},
            Annots=[{"Subtype": "Link", "A": {"S": "GoTo", "Next": [{"S": "Launch"}]}}],
        )
        pdf.catalog["OpenAction"] = script
        pdf.catalog["AA"] = {"WP": script}
        pdf.catalog["Names"] = {"JavaScript": {"Kids": [{"Names": [b"a", script]}]}}
        assert opened(tmp_path, pdf).document.scripts == (
            "JavaScript when the file is opened",
            "JavaScript on the document's events",
            "JavaScript in the document's script list",
            "JavaScript on page 1",
            "Launch in an annotation on page 1",
        )

    def test_form_fields(self, tmp_path: Path) -> None:
        """Kids without a name of their own are widgets of the field, not fields."""
        pdf = plain()
        pdf.catalog["AcroForm"] = {
            "Fields": [
                {"T": b"a", "Kids": [{"Subtype": "Widget"}, {"Subtype": "Widget"}]},
                {"T": b"b", "Kids": [{"T": b"c"}, {"T": b"d", "AA": {"K": {"S": "SubmitForm"}}}]},
            ],
            "XFA": pdf.add(Stream(b"<xfa/>")),
        }
        facts = opened(tmp_path, pdf).document
        assert facts.form_fields == 3
        assert facts.scripts == ("SubmitForm in a form field", "an XFA form")

    def test_embedded_files_and_media(self, tmp_path: Path) -> None:
        pdf = plain(
            Annots=[
                {"Subtype": "FileAttachment", "FS": {"F": b"notes.txt"}},
                {"Subtype": "RichMedia"},
            ]
        )
        pdf.catalog["Names"] = {
            "EmbeddedFiles": {"Names": [b"1", {"F": b"a.xml", "UF": "ä.xml".encode("utf-16")}]}
        }
        pdf.catalog["AF"] = [{"F": b"b.csv"}]
        facts = opened(tmp_path, pdf).document
        assert facts.embedded_files == ("ä.xml", "b.csv", "notes.txt")
        assert facts.media == ("RichMedia on page 1",)


class TestPages:
    def test_order_and_count(self, tmp_path: Path) -> None:
        pdf = Pdf()
        for size in (10, 20, 30):
            pdf.page("", (size, size))
        pages = opened(tmp_path, pdf).pages
        assert [round(page.boxes.media.width) for page in pages] == [10, 20, 30]
        assert [page.index for page in pages] == [0, 1, 2]

    def test_no_pages(self, tmp_path: Path) -> None:
        with pytest.raises(UnreadableError, match="has no pages"):
            opened(tmp_path, Pdf())

    def test_nested_tree_with_a_circle(self, tmp_path: Path) -> None:
        pdf = Pdf()
        leaf = pdf.page("", (10, 10))
        branch = pdf.add(None)
        pdf.put(branch, {"Type": "Pages", "Kids": [branch, leaf], "MediaBox": [0, 0, 9, 9]})
        pdf._pages.insert(0, branch)
        art = opened(tmp_path, pdf)
        assert len(art.pages) == 2
        assert any("page tree" in trouble for trouble in art.document.troubles)

    def test_more_pages_than_are_read(self, tmp_path: Path) -> None:
        pdf = Pdf()
        for _ in range(5):
            pdf.page("", (10, 10))
        path = tmp_path / "art.pdf"
        path.write_bytes(pdf.bytes())
        art = open_art(path, Limits(pages=3))
        assert len(art.pages) == 3
        assert art.document.troubles


def test_mended_damage_is_told(tmp_path: Path) -> None:
    source = one_page("0 0 50 50 re f", (100, 100))
    source = source[: source.rindex(b"startxref")] + b"startxref\n7\n%%EOF\n"
    art = opened(tmp_path, source)
    assert len(art.pages) == 1
    assert art.document.troubles


def test_content_in_several_streams(tmp_path: Path) -> None:
    """ISO 32000-2, 7.7.3.3: parts are joined as if by white space between them."""
    pdf = Pdf()
    parts = [
        pdf.add(Stream(b"0 0 10")),
        pdf.add(Stream(zlib.compress(b"20 re f"), {"Filter": ["FlateDecode"]})),
    ]
    pdf.page("", (100, 100), Contents=parts)
    (path,) = opened(tmp_path, pdf).pages[0].content(Affine.identity()).paths
    assert tuple(path.box) == pytest.approx((0, 0, 10 / PT, 20 / PT))
