"""The cabin's clocks: when each named limit is reached, by the plan, by the trend, or if something stops."""
