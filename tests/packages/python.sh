# The wheel in an empty environment: pip needs no compiler, no network and no other package for it.
. "$(dirname "$0")/common.sh"

wheel=$(only "$made"/buttonworth-*.whl)
tags=$("$python" -c 'import sys, sysconfig
print("cp{0}{1}-cp{0}{1}-".format(*sys.version_info) + sysconfig.get_platform().replace("-", "_"))')
case $wheel in *-"$tags".whl) ;; *) fail "$wheel is not tagged $tags" ;; esac

"$python" -m venv venv
alone PATH="$folder/venv/bin" pip install --quiet --disable-pip-version-check --no-index --no-deps "$wheel"
alone venv/bin/python "$programs/demo.py" >said
expect_demo said
says_missing alone venv/bin/python "$programs/allocate.py" "$programs/allocate.json"
for file in py.typed _buttonworth.pyi; do
  only venv/lib/python3.*/site-packages/buttonworth/$file >/dev/null
done
alone venv/bin/pip check
alone venv/bin/pip uninstall --quiet --yes buttonworth
if ls -d venv/lib/python3.*/site-packages/buttonworth 2>/dev/null; then fail "this was left behind"; fi

# The report, with what it needs from Debian: its templates came along.
alone venv/bin/pip install --quiet --disable-pip-version-check --no-index --no-deps "$wheel"
alone PYTHONPATH=/usr/lib/python3/dist-packages venv/bin/python -c '
from buttonworth import report
document = {
    "format": "buttonworth-plan/1", "currency": "USD", "discount": "0 %/a", "prices": {"Au": "100 USD/g"},
    "lot": {"wet_mass": "1000 kg", "assays": {"Au": "50 g/t"}}, "steps": {},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}}},
    "routes": {"as it is": {"sell": "smelter"}, "kept": {"keep": True}},
}
report.plan(document).write("report", with_pdf=False)'
grep -q 'value="4500' report/report.html || fail "the report lacks what the route leaves" # 1 t x 50 g/t x 90 % x 100 USD/g
