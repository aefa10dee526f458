using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Contact;

namespace StreakTrack.Reporting.Photos;

/// <summary>All that the report of a series of photographs is made of.</summary>
/// <param name="Record">The record; its photographs are not empty.</param>
/// <param name="Series">What was measured; a photograph stands for a frame.</param>
/// <param name="Pictures">Pictures for the contact sheet.</param>
public sealed record PhotoContent(AnalysisRecord Record, AmplitudeSeries Series, IReadOnlyList<ContactPicture> Pictures);
