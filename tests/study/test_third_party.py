"""A criterion in a package of its own, installed beside, ranks; a broken one harms who asks."""

import sys

import pytest
from made_up_study import box, line, write_study

from playsite.criteria._contract import Criterion
from playsite.errors import ContractError, InputError
from playsite.study import run
from playsite.testing import check_criterion, made_up_pads

GOOD = '''"""Corner lots: how near the pad lies to the parcel's own corner."""
import pandas as pd
from playsite.criteria._contract import Criterion, Source
from playsite.criteria._curve import Curve
from playsite.units import Unit

def corner_share_pct(pads, site):
    """Share of the parcel that the pad takes."""
    parcels = site.layers.parcels.geometry
    share = [100 * pad.area / parcels[i].area for pad, i in zip(pads.geometry, pads["parcel_id"])]
    return pd.Series(share, index=pads.index)

CRITERION = Criterion(
    name="lot_share", question="How much of the lot is taken?", plain="share of the lot taken",
    unit=Unit.PERCENT, needs=(), measure=corner_share_pct,
    curve=Curve.falling(ideal=10, acceptable=30, poor=80, unit=Unit.PERCENT, source="made up"),
    weight=2, plausible=(0, 100), group="Space and law", sources=(Source("made up"),),
)
'''


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Lay a package with a criterion beside playsite, as an installer would."""

    def lay(name, code, *, package="town_extras"):
        folder = tmp_path / f"installed_{package}"
        (folder / package).mkdir(parents=True)
        (folder / package / "__init__.py").write_text(code, encoding="utf-8")
        info = folder / f"{package}-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.0\n")
        points = f"[playsite.criteria]\n{name} = {package}:CRITERION\n"
        (info / "entry_points.txt").write_text(points)
        monkeypatch.syspath_prepend(str(folder))
        monkeypatch.delitem(sys.modules, package, raising=False)

    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    yield lay
    sys.modules.pop("town_extras", None)


def _study(folder, *names):
    listed = ", ".join(f'"{name}"' for name in names)
    parcels = {"small": box(50, 50, 40, 30), "large": box(150, 50, 120, 120)}
    streets = {"streets": ([line((0, 20), (400, 20))], {"class": ["local"]})}
    return write_study(folder, parcels, layers=streets, study=f"criteria = [{listed}]")


def test_a_third_party_criterion_is_found_and_ranks(install, tmp_path):
    install("lot_share", GOOD)
    result = run(_study(tmp_path / "study", "fit", "lot_share"))
    assert result.ranked["parcel_id"].tolist() == ["large", "small"]
    own = result.measurements[result.measurements["criterion"] == "lot_share"].set_index(
        "parcel_id"
    )
    assert own.loc["small", "value"] == pytest.approx(100 * 31.7 * 22.7 / 1200, rel=1e-6)
    assert {each.name: each.package for each in result.criteria}["lot_share"] == "town_extras 1.0"


def test_a_broken_one_harms_only_the_study_that_asks_for_it(install, tmp_path):
    install("broken", "raise RuntimeError('no luck')\n")
    assert len(run(_study(tmp_path / "a", "fit")).ranked) == 2
    with pytest.raises(InputError, match=r"town_extras 1.0 can't be loaded: RuntimeError: no luck"):
        run(_study(tmp_path / "b", "fit", "broken"))


def test_two_of_one_name_are_refused_naming_both_packages(install, tmp_path):
    install("fit", GOOD.replace('"lot_share"', '"fit"'))
    with pytest.raises(
        InputError, match=r"playsite .* and town_extras 1.0|town_extras 1.0 and playsite"
    ):
        run(_study(tmp_path / "study", "fit"))


def test_one_that_is_not_installed_gets_the_nearest_word(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    with pytest.raises(InputError, match='Did you mean "traffic"'):
        run(_study(tmp_path / "study", "trafic"))


def _criterion(measure, **changes):
    whole = {}
    exec(GOOD, whole)  # noqa: S102  # the example of this test
    usual = {name: getattr(whole["CRITERION"], name) for name in Criterion.__dataclass_fields__}
    return Criterion(**{**usual, "measure": measure, **changes})


def test_check_criterion_sees_what_depends_on_the_other_pads():
    def relative_pct(pads, site):
        """Give a share of the best."""
        return 100 * pads["easting"] / pads["easting"].max()

    with pytest.raises(ContractError, match="which other pads"):
        check_criterion(_criterion(relative_pct), pads=made_up_pads(), site=None)


def test_check_criterion_asks_for_a_source_and_a_method():
    def share_pct(pads, site):
        return pads["easting"] * 0

    with pytest.raises(ContractError, match="nothing under method"):
        check_criterion(_criterion(share_pct), pads=made_up_pads(), site=None)
    share_pct.__doc__ = "Nothing."
    with pytest.raises(ContractError, match="cites no source"):
        check_criterion(_criterion(share_pct, sources=()), pads=made_up_pads(), site=None)
    check_criterion(_criterion(share_pct), pads=made_up_pads(), site=None)


def test_check_criterion_refuses_anything_else():
    with pytest.raises(ContractError, match="not str"):
        check_criterion("shade", pads=made_up_pads(), site=None)
