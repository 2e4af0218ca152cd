"""What a procedure comes to: verdict, the one change that would remove most, audit sheet."""
