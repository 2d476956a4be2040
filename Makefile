# Each target is a task of dev.py; where there is no make, `python dev.py demo` is the
# same as `make demo`.

.PHONY: demo test schemas benchmark

demo:
	@python3 dev.py demo

test:
	@python3 dev.py test

schemas:
	@python3 dev.py schemas

benchmark:
	@python3 dev.py benchmark
