"""Where the library of schedules that is found is of another version, the module says so and goes on."""

import buttonworth

for _ in range(2):
    try:
        buttonworth.allocate({})
    except buttonworth.UsageError as error:
        assert (error.code, error.status) == ("no such name", 106), error
        assert f"is not of version {buttonworth.version()}" in error.text, error.text
        assert "install both of one version" in error.text, error.text
    else:
        raise AssertionError("it was not refused")
assert buttonworth.convert("1 lb", "g") == "453.59237 g"
