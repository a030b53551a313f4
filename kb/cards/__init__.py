"""Job cards become cases: what their words name, learnt from what somebody confirmed."""
