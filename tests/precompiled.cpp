// Nothing of its own: the target that precompiles the tests' headers needs a source.
