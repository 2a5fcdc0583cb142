#!/bin/sh
# Compiles as cargo says; the engine's unit tests for `make test` less optimised, which costs them a fifth of their time and saves a
# quarter of the compiler's. What users run is never compiled so.
case " $* " in *" --crate-name quenchway "*" --test "*) set -- "$@" -C opt-level=1 ;; esac
exec "$@"
