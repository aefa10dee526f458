using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Submissions;

namespace StreakTrack.Core.References;

/// <summary>The setting of a reference that submissions are held against.</summary>
/// <param name="Name">What the instrument is called.</param>
/// <param name="Setting">The instrument at that setting.</param>
public sealed record ReferenceTarget(string Name, ReferenceSetting Setting)
{
    /// <summary>Finds the setting.</summary>
    /// <param name="reference">The reference.</param>
    /// <param name="setting">The setting; null when the reference has only one.</param>
    /// <param name="subject">What to call the reference in messages.</param>
    /// <exception cref="UnusableInputException">There is no such setting, or it has to be named.</exception>
    public static ReferenceTarget Of(InstrumentReference reference, double? setting, string subject)
    {
        ArgumentNullException.ThrowIfNull(reference);
        if (setting is null && reference.Settings.Count == 1)
            return new ReferenceTarget(reference.Name, reference.Settings[0]);
        ReferenceSetting found = reference.Settings.FirstOrDefault(s => setting is not null && s.Setting == setting) ?? throw new UnusableInputException(
            subject, setting is null ? "the reference has several settings" : string.Create(CultureInfo.InvariantCulture, $"the reference has no setting {setting:0.######}"),
            "Name one with --setting: " + string.Join(", ", reference.Settings.Select(s => s.Setting?.ToString("0.######", CultureInfo.InvariantCulture) ?? "none")) + ".");
        return new ReferenceTarget(reference.Name, found);
    }

    /// <summary>Holds a decay time against the reference: E_n of ISO/IEC 17043 with U = 2 u of what is stated, and the half-width of the tolerance
    /// for a further run as the expanded uncertainty of the reference.</summary>
    /// <param name="stated">The decay time, in s.</param>
    public ReferenceComparison Hold(QuantityRecord stated)
    {
        ArgumentNullException.ThrowIfNull(stated);
        double half = Setting.CoverageFactor * Setting.ToleranceStandardUncertaintyS / NormalisedError.CoverageFactor;
        double error = NormalisedError.Of(
            new UncertainValue(stated.Value, stated.StandardUncertainty ?? double.NaN), new UncertainValue(Setting.TauS.Value, half));
        Finding? remark = NormalisedError.Agrees(error) ? null : FindingKinds.ReferenceDisagrees.With(string.Create(CultureInfo.InvariantCulture,
            $"Stated tau {stated.Value:0.####} s with U = {2 * stated.StandardUncertainty:0.####} s; {Name} has {Setting.TauS.Value:0.####} s, and a further run is expected from {Setting.ToleranceTauS[0]:0.####} to {Setting.ToleranceTauS[1]:0.####} s: E_n = {error:0.00}, and at most 1 in magnitude is asked for."));
        return new ReferenceComparison(new QuantityRecord(Setting.TauS.Value, half), double.IsFinite(error) ? error : null, remark);
    }
}
